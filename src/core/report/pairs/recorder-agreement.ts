import { type BlandAltman, blandAltmanRepeated } from '../../agreement/bland-altman';
import { linConcordance } from '../../agreement/concordance';
import { meanAbsolutePercentageError } from '../../agreement/error';
import { pairedIntraclassCorrelations } from '../../agreement/icc';
import { joined } from '../../moments';
import { type BootstrapResult, type BootstrapSettings, clusterBootstraps, type Times } from '../../score/bootstrap';
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
  const total = new Float64Array(8);
  const boot = clusterBootstraps(
    volunteers.length,
    times => centred(totalOf(sums, times, total)),
    {
      meanAbsoluteError: t => t.absolute / t.n,
      meanAbsolutePercentageError: t => (100 * t.relative) / t.n,
      concordance: concordanceOf,
      icc21: icc21Of,
      icc31: icc31Of,
    },
    settings,
  );
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

/** n, sums of x, y, xx, yy, xy (about `origin`, to keep digits), |x - y| and |x - y| / |y|: all a draw needs to know. */
function sumsOf({ a, b }: Pairs, origin: number): Float64Array {
  const sums = new Float64Array(8);
  sums[0] = a.length;
  for (let i = 0; i < a.length; i++) {
    const x = a[i]! - origin;
    const y = b[i]! - origin;
    sums[1]! += x;
    sums[2]! += y;
    sums[3]! += x * x;
    sums[4]! += y * y;
    sums[5]! += x * y;
    sums[6]! += Math.abs(x - y);
    sums[7]! += Math.abs((x - y) / b[i]!);
  }
  return sums;
}

/** Into `total`, the same for draw after draw. */
function totalOf(sums: readonly Float64Array[], times: Times, total: Float64Array): Float64Array {
  total.fill(0);
  for (let i = 0; i < times.length; i++) if (times[i] !== 0) addTimes(total, sums[i]!, times[i]!);
  return total;
}

function addTimes(total: Float64Array, part: Float64Array, times: number): void {
  for (let k = 0; k < total.length; k++) total[k]! += times * part[k]!;
}

interface Centred {
  readonly n: number;
  readonly shift: number;
  readonly sxx: number;
  readonly syy: number;
  readonly sxy: number;
  /** Sums of |x - y| and of |x - y| / |y|. */
  readonly absolute: number;
  readonly relative: number;
}

/** Sums of squares and products about the means. */
function centred(t: Float64Array): Centred {
  const n = t[0]!;
  return {
    n,
    shift: (t[1]! - t[2]!) / n,
    sxx: t[3]! - (t[1]! * t[1]!) / n,
    syy: t[4]! - (t[2]! * t[2]!) / n,
    sxy: t[5]! - (t[1]! * t[2]!) / n,
    absolute: t[6]!,
    relative: t[7]!,
  };
}

const concordanceOf = ({ n, shift, sxx, syy, sxy }: Centred) => (2 * sxy) / (sxx + syy + n * shift * shift);

/** ICC(3,1) of two judges: mean squares (sxx + syy +- 2 sxy) / 2 between targets and of the residual. */
const icc31Of = ({ sxx, syy, sxy }: Centred) => (2 * sxy) / (sxx + syy);

/** ICC(2,1) of two judges; the mean square of judges is n shift^2 / 2. */
function icc21Of({ n, shift, sxx, syy, sxy }: Centred): number {
  const between = (sxx + syy + 2 * sxy) / (2 * (n - 1));
  const residual = (sxx + syy - 2 * sxy) / (2 * (n - 1));
  return (between - residual) / (between + residual + (2 * ((n * shift * shift) / 2 - residual)) / n);
}
