/** The tables of `tests/bench/not-sinus.json` for the README beside it. */
interface Counts {
  readonly tp: number;
  readonly fn: number;
  readonly fp: number;
}

interface Row {
  readonly record: string;
  /** Both leads and all limits; limits of the other four records; the first lead alone; both. */
  readonly own: Counts;
  readonly others: Counts;
  readonly oneLead: Counts;
  readonly othersOneLead: Counts;
  readonly fusionBeats: number;
  readonly fusionMissed: number;
  readonly byIntervals: number;
}

interface Stored {
  readonly rows: readonly Row[];
  readonly chosen: Readonly<Record<string, Readonly<Record<string, number>>>>;
  readonly labels: readonly { readonly label: number; readonly beats: number; readonly wrong: number }[];
}

type Way = 'own' | 'others' | 'oneLead' | 'othersOneLead';

/** Codes of the database's labels (see sinus-key.ts). */
const labelWords: Readonly<Record<number, string>> = {
  1: 'normal',
  4: 'aberrated atrial premature',
  5: 'ventricular premature',
  6: 'fusion of ventricular and normal',
  7: 'junctional premature',
  8: 'atrial premature',
  9: 'supraventricular premature',
  11: 'junctional escape',
  12: 'paced',
  38: 'fusion of paced and normal',
};

const share = (of: number, all: number) => (all > 0 ? ((100 * of) / all).toFixed(1) : '–');
const rates = ({ tp, fn, fp }: Counts) => [share(tp, tp + fn), share(tp, tp + fp)];
const line = (cells: readonly (string | number)[]) => `| ${cells.join(' | ')} |`;

export function notSinusTables(text: string): string {
  const { rows, chosen, labels } = JSON.parse(text) as Stored;
  return [
    ...recordTable(rows),
    '',
    'By label, both leads: beats that are missed, or of normal ones proposed:',
    '',
    ...labelTable(labels),
    '',
    'The limits that either four records choose; they give the figures of the other four:',
    '',
    ...limitTable(chosen),
  ].join('\n');
}

/** Sums over the records. */
export function notSinusGross(rows: readonly Row[], way: Way): Counts {
  const none: Counts = { tp: 0, fn: 0, fp: 0 };
  return rows.reduce((sum, { [way]: c }) => ({ tp: sum.tp + c.tp, fn: sum.fn + c.fn, fp: sum.fp + c.fp }), none);
}

function recordTable(rows: readonly Row[]): string[] {
  const head = ['record', 'not sinus', 'missed', 'extra', 'Se', 'PPV', 'fusion missed', 'limits of others: Se', 'PPV'];
  head.push('one lead: Se', 'PPV', 'with limits of others: Se', 'PPV', 'odd intervals, %');
  const fusion = (missed: number, of: number) => (of > 0 ? `${missed} of ${of}` : '–');
  const total = (key: 'fusionBeats' | 'fusionMissed') => rows.reduce((n, r) => n + r[key], 0);
  const cells = (r: Readonly<Record<Way, Counts>>, name: string, ofFusion: string, odd: string) =>
    line([
      name,
      r.own.tp + r.own.fn,
      r.own.fn,
      r.own.fp,
      ...rates(r.own),
      ofFusion,
      ...rates(r.others),
      ...rates(r.oneLead),
      ...rates(r.othersOneLead),
      odd,
    ]);
  const gross = {
    own: notSinusGross(rows, 'own'),
    others: notSinusGross(rows, 'others'),
    oneLead: notSinusGross(rows, 'oneLead'),
    othersOneLead: notSinusGross(rows, 'othersOneLead'),
  };
  return [
    line(head),
    line(head.map(() => '---')),
    ...rows.map(r => cells(r, r.record, fusion(r.fusionMissed, r.fusionBeats), (100 * r.byIntervals).toFixed(1))),
    cells(gross, 'gross', fusion(total('fusionMissed'), total('fusionBeats')), ''),
  ];
}

function labelTable(labels: Stored['labels']): string[] {
  const known = labels.filter(l => labelWords[l.label]);
  return [
    line(['label', 'beats', 'wrong']),
    line(['---', '---', '---']),
    ...known.map(({ label, beats, wrong }) => line([labelWords[label]!, beats, wrong])),
  ];
}

function limitTable(chosen: Stored['chosen']): string[] {
  const halves = Object.entries(chosen);
  return [
    line(['limit', ...halves.map(([records]) => `chosen on ${records}`)]),
    line(['---', ...halves.map(() => '---')]),
    ...Object.keys(halves[0]![1]).map(name => line([name, ...halves.map(([, of]) => String(of[name]))])),
  ];
}
