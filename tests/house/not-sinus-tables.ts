/** The tables of `tests/bench/not-sinus.json` for the README beside it. */
interface Counts {
  readonly tp: number;
  readonly fn: number;
  readonly fp: number;
}

interface Row {
  readonly record: string;
  readonly own: Counts;
  readonly others: Counts;
  readonly fusionBeats: number;
  readonly fusionMissed: number;
  readonly byIntervals: number;
}

const share = (of: number, all: number) => (all > 0 ? ((100 * of) / all).toFixed(1) : '–');
const rates = ({ tp, fn, fp }: Counts) => [share(tp, tp + fn), share(tp, tp + fp)];

export function notSinusTables(text: string): string {
  const { rows, chosen } = JSON.parse(text) as { rows: Row[]; chosen: Record<string, Record<string, number>> };
  const gross = (key: 'own' | 'others') =>
    rows.reduce((sum, { [key]: c }) => ({ tp: sum.tp + c.tp, fn: sum.fn + c.fn, fp: sum.fp + c.fp }), {
      tp: 0,
      fn: 0,
      fp: 0,
    });
  const line = (cells: readonly (string | number)[]) => `| ${cells.join(' | ')} |`;
  const total = (key: 'fusionBeats' | 'fusionMissed') => rows.reduce((n, r) => n + r[key], 0);
  const fusion = (missed: number, of: number) => (of > 0 ? `${missed} of ${of}` : '–');
  const table = [
    line([
      'record',
      'not sinus',
      'missed',
      'extra',
      'Se',
      'PPV',
      'fusion missed',
      'limits of others: Se',
      'PPV',
      'odd intervals, %',
    ]),
    line(Array.from({ length: 10 }, () => '---')),
    ...rows.map(r =>
      line([
        r.record,
        r.own.tp + r.own.fn,
        r.own.fn,
        r.own.fp,
        ...rates(r.own),
        fusion(r.fusionMissed, r.fusionBeats),
        ...rates(r.others),
        (100 * r.byIntervals).toFixed(1),
      ]),
    ),
    line([
      'gross',
      gross('own').tp + gross('own').fn,
      gross('own').fn,
      gross('own').fp,
      ...rates(gross('own')),
      fusion(total('fusionMissed'), total('fusionBeats')),
      ...rates(gross('others')),
      '',
    ]),
  ];
  const halves = Object.entries(chosen);
  const limits = [
    line(['limit', ...halves.map(([records]) => `chosen on ${records}`)]),
    line(['---', ...halves.map(() => '---')]),
    ...Object.keys(halves[0]![1]).map(name => line([name, ...halves.map(([, of]) => String(of[name]))])),
  ];
  return [
    ...table,
    '',
    'The limits that either four records choose; they give the figures of the other four:',
    '',
    ...limits,
  ].join('\n');
}
