import { type BlandAltman, blandAltmanRepeated } from '../../agreement/bland-altman';
import { linConcordance } from '../../agreement/concordance';
import { meanAbsolutePercentageError } from '../../agreement/error';
import { pairedIntraclassCorrelations } from '../../agreement/icc';
import { joined } from '../../moments';
import { type BootstrapResult, type BootstrapSettings, ratioOfSums, sumBootstraps } from '../../score/bootstrap';
import { type Computed, type Estimate, notComputable } from '../../score/result';
import type { Pairs } from './paired-measures';

export const agreementMeasures = {
  rr: 'RR interval, ms',
  heartRate: 'heart rate per 10 s, bpm',
  rmssd: 'RMSSD per segment, ms',
} as const;
export type AgreementMeasure = keyof typeof agreementMeasures;

/** Paired values of one volunteer in one activity: `a` by the recorder under test, `b` by the reference. */
export interface AgreementCell extends Pairs {
  readonly volunteer: string;
  readonly activity: string;
  readonly measure: AgreementMeasure;
  /** Reviewed intervals of the first recorder there: those that are no pair are left out of this analysis. */
  readonly reviewedIntervals?: number;
}

export interface AgreementRow {
  readonly measure: AgreementMeasure;
  /** Null: all activities together. */
  readonly activity: string | null;
  readonly pairs: number;
  /** Percent of the reviewed intervals that this analysis cannot see; of RR alone. */
  readonly leftOut: Computed;
  readonly volunteers: number;
  readonly blandAltman: BlandAltman;
  /** Point values with bootstrap intervals by volunteer: pairs of one person are not independent. */
  readonly meanAbsoluteError: BootstrapResult;
  readonly meanAbsolutePercentageError: BootstrapResult;
  readonly concordance: BootstrapResult;
  readonly icc21: BootstrapResult;
  readonly icc31: BootstrapResult;
  /** Textbook intervals that take every pair as independent, for comparison with other reports. */
  readonly concordanceIndependent: Estimate;
  readonly icc21Independent: Estimate;
  readonly icc31Independent: Estimate;
}

/** One row for each measure and activity, and one for each measure over all activities. */
export function agreementTable(cells: readonly AgreementCell[], settings: BootstrapSettings): AgreementRow[] {
  const activities = [...new Set(cells.map(c => c.activity)), null];
  return (Object.keys(agreementMeasures) as AgreementMeasure[]).flatMap(measure => {
    const ofMeasure = cells.filter(c => c.measure === measure);
    return activities.map(activity => {
      const picked = ofMeasure.filter(c => activity === null || c.activity === activity);
      return agreementRow(measure, activity, picked, settings);
    });
  });
}

function agreementRow(
  measure: AgreementMeasure,
  activity: string | null,
  cells: readonly AgreementCell[],
  settings: BootstrapSettings,
): AgreementRow {
  const volunteers = byVolunteer(cells.filter(c => c.a.length > 0));
  const a = joined(volunteers.map(v => v.a));
  const b = joined(volunteers.map(v => v.b));
  const sums = volunteers.map(v => sumsOf(v, a[0] ?? 0));
  const boot = sumBootstraps(sums, statistics, settings, centre);
  const icc = pairedIntraclassCorrelations(a, b, settings.level);
  const mape = meanAbsolutePercentageError(a, b);
  return {
    measure,
    activity,
    pairs: a.length,
    leftOut: leftOutOf(cells, a.length),
    volunteers: volunteers.length,
    blandAltman: blandAltmanRepeated(
      volunteers.map(v => v.a.map((x, i) => x - v.b[i]!)),
      { level: settings.level, multiplier: 1.96 },
    ),
    ...boot,
    meanAbsolutePercentageError: mape.value === null ? mape : boot.meanAbsolutePercentageError,
    concordanceIndependent: linConcordance(a, b, settings.level),
    icc21Independent: icc['2,1'],
    icc31Independent: icc['3,1'],
  };
}

function leftOutOf(cells: readonly AgreementCell[], pairs: number): Computed {
  const n = cells.reduce((sum, c) => sum + (c.reviewedIntervals ?? 0), 0);
  return n > 0 ? { value: Math.max(0, 100 - (100 * pairs) / n), n } : notComputable('counted for RR intervals');
}

function byVolunteer(cells: readonly AgreementCell[]): Pairs[] {
  const groups = new Map<string, AgreementCell[]>();
  for (const cell of cells) groups.set(cell.volunteer, [...(groups.get(cell.volunteer) ?? []), cell]);
  return [...groups.values()].map(group => ({ a: joined(group.map(g => g.a)), b: joined(group.map(g => g.b)) }));
}

/** Sums that a draw of volunteers adds up, about an origin, to keep digits. */
enum Sum {
  n = 0,
  x = 1,
  y = 2,
  xx = 3,
  yy = 4,
  xy = 5,
  absolute = 6,
  relative = 7,
  size = 8,
}

/** The last two are sums of |x - y| and |x - y| / |y|. */
function sumsOf({ a, b }: Pairs, origin: number): Float64Array {
  const sums = new Float64Array(Sum.size);
  sums[Sum.n] = a.length;
  for (let i = 0; i < a.length; i++) {
    const x = a[i]! - origin;
    const y = b[i]! - origin;
    sums[Sum.x]! += x;
    sums[Sum.y]! += y;
    sums[Sum.xx]! += x * x;
    sums[Sum.yy]! += y * y;
    sums[Sum.xy]! += x * y;
    sums[Sum.absolute]! += Math.abs(x - y);
    sums[Sum.relative]! += Math.abs((x - y) / b[i]!);
  }
  return sums;
}

/** Where squares and products about the means stand once `centre` has put them in the place of the sums. */
enum About {
  n = 0,
  /** Mean of x less mean of y. */
  shift = 1,
  xx = 3,
  yy = 4,
  xy = 5,
}

function centre(sums: Float64Array, size: number, draws: number): void {
  for (let at = 0; at < draws * size; at += size) {
    const n = sums[at + Sum.n]!;
    const x = sums[at + Sum.x]!;
    const y = sums[at + Sum.y]!;
    sums[at + About.shift] = (x - y) / n;
    sums[at + About.xx]! -= (x * x) / n;
    sums[at + About.yy]! -= (y * y) / n;
    sums[at + About.xy]! -= (x * y) / n;
  }
}

/** Each over the sums of one draw after the other. */
const statistics = {
  meanAbsoluteError: ratioOfSums(Sum.absolute, Sum.n),
  meanAbsolutePercentageError: ratioOfSums(Sum.relative, Sum.n, 100),
  concordance(sums: Float64Array, size: number, out: Float64Array): void {
    for (let i = 0, at = 0; i < out.length; i++, at += size) {
      const shift = sums[at + About.shift]!;
      const squares = sums[at + About.xx]! + sums[at + About.yy]!;
      out[i] = (2 * sums[at + About.xy]!) / (squares + sums[at + About.n]! * shift * shift);
    }
  },
  /** ICC(2,1) of two judges; the mean square of judges is n shift^2 / 2. */
  icc21(sums: Float64Array, size: number, out: Float64Array): void {
    for (let i = 0, at = 0; i < out.length; i++, at += size) {
      const n = sums[at + About.n]!;
      const shift = sums[at + About.shift]!;
      const squares = sums[at + About.xx]! + sums[at + About.yy]!;
      const products = 2 * sums[at + About.xy]!;
      const between = (squares + products) / (2 * (n - 1));
      const residual = (squares - products) / (2 * (n - 1));
      const judges = (2 * ((n * shift * shift) / 2 - residual)) / n;
      out[i] = (between - residual) / (between + residual + judges);
    }
  },
  /** ICC(3,1) of two judges: mean squares (sxx + syy +- 2 sxy) / 2 between targets and of the residual. */
  icc31(sums: Float64Array, size: number, out: Float64Array): void {
    for (let i = 0, at = 0; i < out.length; i++, at += size)
      out[i] = (2 * sums[at + About.xy]!) / (sums[at + About.xx]! + sums[at + About.yy]!);
  },
};
