interface Source {
  readonly source: string;
  readonly reliability: readonly { readonly places: number; readonly predicted: number; readonly observed: number }[];
  readonly kinds: Readonly<Record<string, { mistakes: number; listed: number; aboveLine: number }>>;
  readonly stretches: number;
  readonly held: number;
  readonly looked: number;
  readonly found: number;
  readonly made: number;
  readonly right: number;
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
  return [found(sources), reliability(sources)].join('\n\n');
}

function found(sources: readonly Source[]): string {
  const rows = sources.map(s => {
    const share = (part: 'listed' | 'aboveLine') => {
      const kinds = ['missed', 'wrong', 'extra'].map(k => s.kinds[k]!);
      const [of, all] = [kinds.reduce((n, k) => n + k[part], 0), kinds.reduce((n, k) => n + k.mistakes, 0)];
      const each = kinds.map(k => `${k[part]}/${k.mistakes}`).join(', ');
      return `${((100 * of) / all).toFixed(1)} % (${each})`;
    };
    return `| ${titles[s.source]} | ${share('listed')} | ${share('aboveLine')} | ${(s.looked / s.found).toFixed(2)} | ${s.right} of ${s.made} | ${s.held} of ${s.stretches} |`;
  });
  return [
    'Mistakes that the queue leads to, in all and (missed, wrong peak, extra); places looked at for each one found until 95 % of',
    'a record are; suggestions that put something right; stretches of five minutes whose mistakes are as many as was said:',
    '',
    '| mistakes of | in the queue | above its line | looked at | suggestions right | range held |',
    '| --- | --- | --- | --- | --- | --- |',
    ...rows,
  ].join('\n');
}

function reliability(sources: readonly Source[]): string {
  const columns = sources.filter(s => s.source === 'real' || s.source === 'second lead');
  const cell = ({ places, predicted, observed }: Source['reliability'][number]) =>
    `${places} | ${(100 * predicted).toFixed(1)} % | ${(100 * observed).toFixed(1)} %`;
  const rows = columns[0]!.reliability.map((_, k) => columns.map(c => cell(c.reliability[k]!)).join(' | '));
  return [
    'Chance of a mistake that a place was given, and the share that were, on the first lead and on the second:',
    '',
    '| places | said | were | places, second lead | said | were |',
    '| --- | --- | --- | --- | --- | --- |',
    ...rows.map(r => `| ${r} |`),
  ].join('\n');
}
