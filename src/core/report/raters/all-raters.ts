import { type ClusteredKappa, clusteredKappa } from '../../agreement/clustered-kappa';
import {
  type Coincidences,
  coincidencesOfPairs,
  fleissKappa,
  krippendorffAlpha,
  observedAgreement,
  specificAgreement,
  totalsOf,
} from '../../agreement/coincidence';
import { verdictCategories } from '../../review/raters/compare';
import { type BootstrapResult, type BootstrapSettings, type SumStatistic, sumBootstraps } from '../../score/bootstrap';
import { notComputable } from '../../score/result';
import type { RaterAgreementRow } from './rater-agreement';

/** One measure of the agreement of all raters, over all pairs of them, with its bootstrap by volunteer. */
export interface AllRatersRow {
  readonly measure: string;
  readonly result: BootstrapResult;
  /**
   * Of Fleiss’ kappa the interval in closed form, else null: of simulated studies of 4 volunteers it held the truth in 92 to
   * 95 of 100, the bootstrap in 81 to 85, and about as often with more (tests/reference/agreement/kappa-coverage.ts).
   */
  readonly clustered: ClusteredKappa | null;
}

/** Agreement of all raters on the verdict of each detected mark. */
export interface AllRaters {
  readonly volunteers: number;
  readonly recordings: number;
  /** Fewest and most raters of one recording. */
  readonly raters: readonly [number, number];
  /** Verdicts given: raters times marks. */
  readonly ratings: number;
  readonly rows: readonly AllRatersRow[];
}

/** From the pairs of finished reviews; null when no recording has two. */
export function allRaters(rows: readonly RaterAgreementRow[], settings: BootstrapSettings): AllRaters | null {
  const recordings = recordingsOf(rows.filter(r => r.activity === null && r.repeatedBy === null));
  if (recordings.length === 0) return null;
  const names = [...new Set(recordings.map(r => r.volunteer))];
  const own = names.map(name => summed(recordings.filter(r => r.volunteer === name).map(r => r.matrix)));
  const result = sumBootstraps(
    own.map(matrix => Float64Array.from(matrix.flat())),
    ofSums(measures),
    settings,
  );
  const counts = recordings.map(r => r.raters);
  const totals = totalsOf(summed(own));
  const chosen = (name: string, i: number) =>
    i >= 0 && totals[i] === 0 ? notComputable('no rater chose this verdict') : borne(result[name]!);
  return {
    volunteers: names.length,
    recordings: recordings.length,
    raters: [Math.min(...counts), Math.max(...counts)],
    ratings: Math.round(totals.reduce((sum, t) => sum + t, 0)),
    rows: measureNames.map(name => ({
      measure: name,
      result: chosen(name, specificNames.indexOf(name)),
      clustered: name === fleiss ? clusteredKappa(own) : null,
    })),
  };
}

/** A bootstrap over three clusters and fewer has too few different draws for an interval. */
const fewestVolunteers = 4;

function borne(result: BootstrapResult): BootstrapResult {
  if (result.value === null || result.n >= fewestVolunteers) return result;
  const none = { percentile: null, bca: null, expandedPercentile: null, expandedBca: null };
  return {
    ...result,
    ...none,
    intervalReason: `an interval needs ${fewestVolunteers} volunteers rated by two or more`,
  };
}

const fleiss = 'Fleiss’ kappa';
const specificName = (category: string) => `specific agreement: ${category}`;
const specificNames: readonly string[] = verdictCategories.map(specificName);

const measures: Readonly<Record<string, (matrix: Coincidences) => number>> = {
  'observed agreement': observedAgreement,
  'Krippendorff’s alpha': krippendorffAlpha,
  [fleiss]: fleissKappa,
  ...Object.fromEntries(specificNames.map((name, i) => [name, (matrix: Coincidences) => specificAgreement(matrix, i)])),
};
const measureNames = Object.keys(measures);

interface RatedRecording {
  readonly volunteer: string;
  readonly raters: number;
  readonly matrix: Coincidences;
}

function recordingsOf(rows: readonly RaterAgreementRow[]): RatedRecording[] {
  const groups = new Map<string, RaterAgreementRow[]>();
  for (const row of rows) {
    const key = `${row.session}\n${row.recorder}`;
    groups.set(key, [...(groups.get(key) ?? []), row]);
  }
  return [...groups.values()].map(pairs => {
    const raters = new Set(pairs.flatMap(p => [p.raterA, p.raterB])).size;
    const tables = pairs.map(p => p.verdictTable);
    return { volunteer: pairs[0]!.volunteer, raters, matrix: coincidencesOfPairs(tables, raters) };
  });
}

function summed(matrices: readonly Coincidences[]): number[][] {
  return verdictCategories.map((_, i) =>
    verdictCategories.map((__, j) => matrices.reduce((sum, matrix) => sum + matrix[i]![j]!, 0)),
  );
}

/** Measures of the matrix whose rows stand one after the other among the sums of a draw. */
function ofSums(all: typeof measures): Record<string, SumStatistic> {
  const cells = verdictCategories.length;
  const matrix = verdictCategories.map(() => new Array<number>(cells).fill(0));
  const over = (measure: (matrix: Coincidences) => number): SumStatistic => {
    return (sums, size, out) => {
      for (let draw = 0; draw < out.length; draw++) {
        for (let k = 0; k < size; k++) matrix[Math.floor(k / cells)]![k % cells] = sums[draw * size + k]!;
        out[draw] = measure(matrix);
      }
    };
  };
  return Object.fromEntries(Object.entries(all).map(([name, measure]) => [name, over(measure)]));
}
