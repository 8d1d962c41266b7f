interface Bin {
  readonly from: number;
  readonly places: number;
  readonly predicted: number;
  readonly observed: number;
  readonly records: { readonly least: number; readonly most: number } | null;
}

interface Ranges {
  readonly ranges: number;
  readonly held: number;
  readonly said: number;
  readonly were: number;
  readonly low: number;
  readonly high: number;
  readonly factor: number;
}

interface Source {
  readonly source: string;
  readonly reliability: readonly Bin[];
  readonly halves: readonly Bin[];
  readonly kinds: Readonly<Record<string, { mistakes: number; listed: number; aboveLine: number }>>;
  readonly looked: number;
  readonly found: number;
  readonly made: number;
  readonly right: number;
  readonly ranges: {
    readonly all: Ranges;
    readonly bySize: readonly (Ranges & { readonly from: number })[];
    readonly records: readonly (Ranges & { readonly record: string })[];
  };
  readonly rangesOfHalves: Ranges;
  readonly repair: readonly (Ranges & { readonly after: string })[];
  readonly logLoss: Readonly<Record<'own' | 'ownShare' | 'relative', number>>;
}

const titles: Readonly<Record<string, string>> = {
  real: 'the plain detector, first lead',
  'second lead': 'the plain detector, second lead',
  planted: 'planted',
  samples: 'planted in the sample sessions',
};

/** The tables of tests/bench/calibration.json. */
export function calibrationTables(stored: string): string {
  const sources: Source[] = JSON.parse(stored);
  const [real, second] = [sources[0]!, sources[1]!];
  return [found(sources), reliability(sources), ranges(sources), repair([real, second]), alternatives(sources)].join(
    '\n\n',
  );
}

const percent = (x: number) => `${(100 * x).toFixed(1)} %`;

function found(sources: readonly Source[]): string {
  const rows = sources.map(s => {
    const share = (part: 'listed' | 'aboveLine') => {
      const kinds = ['missed', 'wrong', 'extra'].map(k => s.kinds[k]!);
      const [of, all] = [kinds.reduce((n, k) => n + k[part], 0), kinds.reduce((n, k) => n + k.mistakes, 0)];
      const each = kinds.map(k => `${k[part]}/${k.mistakes}`).join(', ');
      return `${percent(of / all)} (${each})`;
    };
    return `| ${titles[s.source]} | ${share('listed')} | ${share('aboveLine')} | ${(s.looked / s.found).toFixed(2)} | ${s.right} of ${s.made} |`;
  });
  return [
    'Mistakes that the queue leads to, in all and (missed, wrong peak, extra); places looked at for each one found until 95 % of',
    'a record are; suggestions that put something right:',
    '',
    '| mistakes of | in the queue | above its line | looked at | suggestions right |',
    '| --- | --- | --- | --- | --- |',
    ...rows,
  ].join('\n');
}

function reliability(sources: readonly Source[]): string {
  const cell = (bin: Bin | undefined) => {
    if (!bin) return '– | – | –';
    const spread = bin.records ? ` (${percent(bin.records.least)} to ${percent(bin.records.most)})` : '';
    return `${bin.places} | ${percent(bin.predicted)} | ${percent(bin.observed)}${spread}`;
  };
  const bins = sources[0]!.reliability.map(b => b.from);
  const table = (title: string, pick: (s: Source) => readonly Bin[]) => [
    title,
    '',
    '| places, first lead | said | were | second lead | said | were | planted | said | were |',
    `|${' --- |'.repeat(9)}`,
    ...bins.map(
      from =>
        `| ${sources
          .slice(0, 3)
          .map(s => cell(pick(s).find(b => b.from === from)))
          .join(' | ')} |`,
    ),
  ];
  const title =
    'Chance of a mistake that a place was given by a fit without its record, and the share that were: in all, and in the records\nwith the smallest and the largest share (of those with ten such places or more):';
  return [
    ...table(title, s => s.reliability),
    '',
    ...table('The same by a fit on the other half of the records:', s => s.halves),
  ].join('\n');
}

function ranges(sources: readonly Source[]): string {
  const row = (what: string, r: Ranges) =>
    `| ${what} | ${r.held} of ${r.ranges} | ${r.said.toFixed(1)} | ${r.were.toFixed(1)} | ${r.low.toFixed(1)} to ${r.high.toFixed(1)} |`;
  const sizes = (s: Source) =>
    s.ranges.bySize.map((r, k, all) => {
      const to = all[k + 1]?.from;
      return row(`– of these with ${to === undefined ? `${r.from} or more` : `${r.from} to ${to}`} expected`, r);
    });
  const short = (s: Source) => {
    const outside = s.ranges.records.filter(r => r.held < r.ranges);
    return outside.map(r => `${r.record}: ${r.held} of ${r.ranges}`).join(', ') || 'none';
  };
  return [
    'Mistakes in five minutes: how often the true number lay in the range given for it, and means of the number said, the true one,',
    'and the range. Every record by a fit without it:',
    '',
    '| stretches | held | said | were | range |',
    '| --- | --- | --- | --- | --- |',
    ...sources.flatMap(s => [
      row(titles[s.source]!, s.ranges.all),
      ...sizes(s),
      row('– all, by a fit on the other half', s.rangesOfHalves),
    ]),
    '',
    `Records with a stretch that was not held: ${sources.map(s => `${titles[s.source]}: ${short(s)}`).join('; ')}.`,
  ].join('\n');
}

function repair(sources: readonly Source[]): string {
  const cell = (r: Ranges) =>
    `${r.held} of ${r.ranges} | ${r.said.toFixed(0)} | ${r.were.toFixed(0)} | ${r.low.toFixed(0)} to ${r.high.toFixed(0)} | ${r.factor.toFixed(1)}`;
  return [
    'The number left in a whole record after so many places were settled, strongest first, or the first five minutes were looked at',
    'in full; *off by*: median over records of the factor between the number said and the true one, each plus one:',
    '',
    `| settled |${sources.map(s => ` held, ${s.source === 'real' ? 'first' : 'second'} lead | said | were | range | off by |`).join('')}`,
    `|${' --- |'.repeat(1 + 5 * sources.length)}`,
    ...sources[0]!.repair.map((r, k) => `| ${r.after} | ${sources.map(s => cell(s.repair[k]!)).join(' | ')} |`),
  ].join('\n');
}

const ways = {
  own: 'as the page has it',
  ownShare: 'to the own share of mistakes',
  relative: 'by relative evidence',
} as const;

function alternatives(sources: readonly Source[]): string {
  return [
    'Logarithmic loss, summed over places, of these chances and of two other ways to them (less is better):',
    '',
    `| chances |${sources.map(s => ` ${titles[s.source]} |`).join('')}`,
    `|${' --- |'.repeat(1 + sources.length)}`,
    ...(['own', 'ownShare', 'relative'] as const).map(
      way => `| ${ways[way]} | ${sources.map(s => s.logLoss[way].toFixed(0)).join(' | ')} |`,
    ),
  ].join('\n');
}
