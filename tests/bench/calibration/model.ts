import { detectorName } from '../../../src/core/detector/name';
import type { About } from '../../../src/core/detector/suspicion/probability';
import type { ReasonId } from '../../../src/core/detector/suspicion/reasons';
import { dot, fitLogistic, logistic } from './logistic';
import { type Judged, leadsTo, type Place } from './places';

/** How much a place counts in the fit. Real mistakes first; planted ones flatter, and second leads repeat the first. */
const counts: Record<Judged['source'], number> = { real: 1, 'second lead': 0.3, planted: 0.15, samples: 0.15 };
const ridge = 1;

export interface Fit {
  readonly constant: number;
  readonly reasons: Readonly<Partial<Record<ReasonId, number>>>;
}

export function fitModel(places: readonly Place[], about: About): Fit {
  const own = places.filter(p => p.about === about);
  const names = [...new Set(own.flatMap(p => Object.keys(p.strengths)))].sort() as ReasonId[];
  const rows = own.map(p => Float64Array.from([1, ...names.map(n => p.strengths[n] ?? 0)]));
  const beta = fitLogistic(
    rows,
    own.map(p => (p.isMistake ? 1 : 0)),
    own.map(p => counts[p.source]),
    ridge,
  );
  return { constant: beta[0]!, reasons: Object.fromEntries(names.map((n, i) => [n, beta[i + 1]!])) };
}

function predicted({ constant, reasons }: Fit, { strengths }: Place): number {
  const names = Object.keys(strengths) as ReasonId[];
  return logistic(
    constant +
      dot(
        names.map(n => strengths[n]!),
        names.map(n => reasons[n] ?? 0),
      ),
  );
}

/** Records of one half; the fit on either half gives the figures of the other. */
const firstHalf: ReadonlySet<string> = new Set(['100', '108', '203', '217', 'V01', 'V03']);

/** What is left out of a fit together. */
export const folds = {
  record: (record: string) => record,
  half: (record: string) => String(firstHalf.has(record)),
} as const;

/** Each place's chance by a fit that has seen nothing of its part of the records: of its record, or of its half of them. */
export function crossValidated(places: readonly Place[], fold: (record: string) => string): Map<Place, number> {
  const out = new Map<Place, number>();
  for (const part of new Set(places.map(p => fold(p.record)))) {
    const others = places.filter(p => fold(p.record) !== part);
    const fits = { mark: fitModel(others, 'mark'), gap: fitModel(others, 'gap') };
    for (const p of places) if (fold(p.record) === part) out.set(p, predicted(fits[p.about], p));
  }
  return out;
}

/** The share of places that are mistakes, each counted as in the fit. */
export function shareOfMistakes(places: readonly Place[]): number {
  const sum = (of: readonly Place[]) => of.reduce((n, p) => n + counts[p.source], 0);
  return sum(places.filter(p => p.isMistake)) / sum(places);
}

/** The share of marks without a place that are mistakes, in recordings other than those of `record`. */
export function unlistedShare(all: ReadonlyMap<Judged, readonly Place[]>, record: string | null): number {
  let [mistakes, marks] = [0, 0];
  for (const [judged, places] of all) {
    if (judged.record === record || judged.source === 'planted') continue;
    const listed = new Set(places.filter(p => p.about === 'mark').map(p => p.at)).size;
    marks += counts[judged.source] * (judged.marks.length - listed);
    mistakes += counts[judged.source] * judged.mistakes.filter(m => !places.some(p => leadsTo(p, m))).length;
  }
  return mistakes / marks;
}

/** The model as source, for src/core/detector/suspicion/model.ts. */
export function modelSource(
  fits: Readonly<Record<About, Fit>>,
  alone: Readonly<Record<About, Fit>>,
  unlisted: number,
): string {
  return `import type { ReasonId } from './reasons';

interface Model {
  readonly constant: number;
  readonly reasons: Readonly<Partial<Record<ReasonId, number>>>;
}

/**
 * Log-odds of a mistake: a constant, and what each reason adds at full strength. Written by \`npm run bench:calibration -- --write\`
 * from real and planted mistakes, with the ${detectorName} as the second one; a reason may speak for a mark.
 */
export const models: Readonly<Record<'mark' | 'gap', Model>> = {
${modelLines(fits)}
};

/** The same where no second detector ran. */
export const modelsAlone: typeof models = {
${modelLines(alone)}
};

/** The chance that a mark is a mistake which nothing speaks against. */
export const unlistedChance = ${Number(unlisted.toPrecision(2))};
`;
}

function modelLines(fits: Readonly<Record<About, Fit>>): string {
  const rounded = (x: number) => Number(x.toFixed(2));
  const named = (name: string) => (/^[a-z]+$/.test(name) ? name : `'${name}'`);
  return (['mark', 'gap'] as const)
    .map(about => {
      const { constant, reasons } = fits[about];
      const entries = Object.entries(reasons).map(([n, v]) => `      ${named(n)}: ${rounded(v)},`);
      return `  ${about}: {\n    constant: ${rounded(constant)},\n    reasons: {\n${entries.join('\n')}\n    },\n  },`;
    })
    .join('\n');
}
