/** The tables of `tests/bench/noise.json` for the README beside it; a part that was not measured is left out. */
interface Row {
  readonly label: string;
  readonly f1: readonly number[];
  readonly gross: number;
  readonly outside: number;
  readonly unsure: number;
  readonly wrong: number;
}

interface Noise {
  readonly choices?: readonly object[];
  readonly tuned?: readonly { readonly noise: object; readonly f1: readonly number[] }[];
  readonly one?: readonly Row[];
  readonly two?: readonly Row[];
  readonly reliability?: readonly (readonly { marks: number; said: number; right: number }[])[];
  readonly limits?: readonly { leads: 1 | 2; limit: number; outside: readonly number[]; share: readonly number[] }[];
  readonly ablation?: readonly { readonly name: string; readonly f1: readonly number[] }[];
  readonly apexes?: readonly { readonly label: string; readonly beats: number; readonly near: number }[];
  readonly apexChoices?: readonly object[];
  readonly apexTuned?: readonly {
    readonly off: readonly (readonly [number, number])[];
    readonly loss: readonly number[];
  }[];
}

const records = ['100', '105', '108', '119', '203', '208', '217', '222'];

export function noiseTables(text: string): string {
  const noise: Noise = JSON.parse(text);
  const parts = [
    noise.tuned && noise.choices ? constants(noise.choices, noise.tuned) : '',
    noise.one ? byRecord('F1 in % within 150 ms over whole records, one lead:', noise.one) : '',
    noise.two ? byRecord('Two leads, the second with another stretch of the noise, backwards in time:', noise.two) : '',
    noise.limits ? limits(noise.limits) : '',
    noise.reliability ? reliability(noise.reliability) : '',
    noise.ablation ? ablation(noise.ablation) : '',
    noise.apexTuned && noise.apexChoices ? apexConstants(noise.apexChoices, noise.apexTuned) : '',
    noise.apexes ? apexes(noise.apexes) : '',
  ];
  return parts.filter(p => p !== '').join('\n\n');
}

function tableOf(says: string, head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]) => `| ${cells.join(' | ')} |`;
  return [says, '', line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n');
}

const twoPlaces = (v: number) => v.toFixed(2);

function byRecord(says: string, rows: readonly Row[]): string {
  return tableOf(
    says,
    ['', ...records, 'all', 'outside unsure', 'unsure, % of time', 'wrong, % of 10 s'],
    rows.map(r => [
      r.label.replace('-', '−'),
      ...[...r.f1, r.gross, r.outside].map(twoPlaces),
      r.unsure.toFixed(1),
      r.wrong.toFixed(1),
    ]),
  );
}

const choiceName = (o: object) =>
  Object.entries(o)
    .map(([k, v]) => `${k} ${v}`)
    .join(', ') || "the detector's own";

function constants(choices: readonly object[], tuned: NonNullable<Noise['tuned']>): string {
  return tableOf(
    'Constants to choose from, F1 in % at 24, 0 and −6 dB together on either four records; the best on four gives the figures of the other four:',
    ['', '100, 108, 203, 217', '105, 119, 208, 222'],
    choices.map((c, k) => [choiceName(c), ...tuned.map(t => twoPlaces(t.f1[k]!))]),
  );
}

function limits(rows: NonNullable<Noise['limits']>): string {
  return tableOf(
    'The limit of *unsure*, in expected mistakes in three seconds: the least F1 outside over all ratios, and the most time unsure as a share of the 10-s stretches with a mistake, on either four records:',
    [
      'leads',
      'limit',
      'outside, %: 100, 108, 203, 217',
      '105, 119, 208, 222',
      'share: 100, 108, 203, 217',
      '105, 119, 208, 222',
    ],
    rows.map(r => [`${r.leads}`, `${r.limit}`, ...[...r.outside, ...r.share].map(twoPlaces)]),
  );
}

/** As a diagram in text: `|` where the said probability lies and `o` where the marks are. */
function reliability(folds: NonNullable<Noise['reliability']>): string {
  const percent = (part: number, whole: number) => (100 * part) / whole;
  const classes = folds[0]!.map((_, k) => folds.map(f => f[k]!)).filter(c => c.every(f => f.marks > 0));
  return tableOf(
    'How often a mark is a beat, by the probability that the detector gives it (all ratios, one lead), on either four records:',
    ['said', 'beats: 100, 108, 203, 217', '105, 119, 208, 222', 'marks', '0 to 100 %: said `+`, beats `o`'],
    classes.map(c => {
      const marks = c.reduce((n, f) => n + f.marks, 0);
      const said = percent(
        c.reduce((n, f) => n + f.said, 0),
        marks,
      );
      const right = c.map(f => percent(f.right, f.marks));
      return [
        `${said.toFixed(1)} %`,
        ...right.map(v => `${v.toFixed(1)} %`),
        `${marks}`,
        `\`${diagram(
          said,
          percent(
            c.reduce((n, f) => n + f.right, 0),
            marks,
          ),
        )}\``,
      ];
    }),
  );
}

function diagram(said: number, right: number): string {
  const line = Array.from({ length: 41 }, () => '.');
  line[Math.round(said / 2.5)] = '+';
  line[Math.round(right / 2.5)] = 'o';
  return line.join('');
}

function ablation(rows: NonNullable<Noise['ablation']>): string {
  return tableOf(
    'What each part adds, F1 in % of all records:',
    ['', 'clean', '12 dB', '0 dB', '−6 dB'],
    rows.map(r => [r.name, ...r.f1.map(twoPlaces)]),
  );
}

function apexConstants(choices: readonly object[], tuned: NonNullable<Noise['apexTuned']>): string {
  return tableOf(
    "Constants of the apex to choose from, clean records: marks not near the expert's, of beats conducted as usual + of others, and loss, on either four records; the least loss on four gives the figures of the other four:",
    ['', '100, 108, 203, 217', '105, 119, 208, 222'],
    choices.map((c, k) => [choiceName(c), ...tuned.map(t => `${t.off[k]!.join(' + ')}, ${t.loss[k]!.toFixed(1)}`)]),
  );
}

function apexes(rows: NonNullable<Noise['apexes']>): string {
  return tableOf(
    "Marks near the expert's, clean records, of beats that were found:",
    ['beats', 'near', 'of', ''],
    rows.map(r => [r.label, `${r.near}`, `${r.beats}`, `${((100 * r.near) / r.beats).toFixed(2)} %`]),
  );
}
