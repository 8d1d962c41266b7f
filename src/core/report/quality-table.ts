import { mean, standardDeviation } from '../moments';
import {
  type BootstrapResult,
  type BootstrapSettings,
  clusterBootstraps,
  meanOver,
  pairedDifference,
  pooledRatio,
  sdOver,
} from '../score/bootstrap';
import { differenceBootstrapT, ratioBootstrapT } from '../score/bootstrap-t';
import { clusterJackknife, clusterRatio } from '../score/cluster-ratio';
import { effectiveSizeDifference, effectiveSizeRatio, type Ratio } from '../score/effective-size';
import { type Computed, type Estimate, notComputable } from '../score/result';
import { type Counts, hasIntervals } from '../score/score';

/** The counts of one segment that the study's numbers rest on. */
export type QualityCounts = Pick<
  Counts,
  | 'judged'
  | 'right'
  | 'lost'
  | 'lostUnreadable'
  | 'lostNoSignal'
  | 'wrongByMissed'
  | 'wrongByWrongPeak'
  | 'wrongByExtra'
>;

/** One volunteer doing one activity with one recorder. Several segments of the same three are added up. */
export interface StudyCell {
  readonly volunteer: string;
  readonly recorder: string;
  readonly activity: string;
  readonly counts: QualityCounts;
}

/** Why intervals are not right, in the order in which the kinds are shown. */
export const mistakeKinds = ['missed', 'wrongPeak', 'extra', 'unreadable', 'noSignal'] as const;
export type MistakeKind = (typeof mistakeKinds)[number];

export interface MistakeShare {
  readonly kind: MistakeKind;
  readonly intervals: number;
  /** Percent of the intervals that are not right. */
  readonly ofMistakes: Computed;
  /** Percent of all intervals. */
  readonly ofAll: Computed;
}

export interface QualityRow {
  readonly recorder: string;
  /** Null: all activities together. */
  readonly activity: string | null;
  /** Volunteers that enter. */
  readonly volunteers: number;
  readonly right: number;
  readonly judged: number;
  readonly lost: number;
  /** Pooled quality in percent, n = judged + lost. */
  readonly pooled: Computed;
  /** The same with the interval at the effective sample size, in percent; the one to read. */
  readonly pooledClustered: Estimate;
  readonly pooledJackknife: Estimate;
  readonly pooledBootstrap: BootstrapResult;
  readonly pooledBootstrapT: Estimate;
  /** Mean and SD of the volunteers' own qualities, in percent. */
  readonly mean: Computed;
  readonly sd: Computed;
  readonly meanBootstrap: BootstrapResult;
  readonly sdBootstrap: BootstrapResult;
  readonly mistakes: readonly MistakeShare[];
  readonly perVolunteer: readonly { readonly volunteer: string; readonly quality: Computed }[];
}

export interface DifferenceRow {
  readonly first: string;
  readonly second: string;
  readonly activity: string | null;
  /** Volunteers with both recorders in this activity; over all, in at least one. */
  readonly volunteers: number;
  /** Pooled quality of the first less that of the second, in percentage points, with the interval to read. */
  readonly pooledClustered: Estimate;
  readonly pooledBootstrapT: Estimate;
  readonly pooledJackknife: Estimate;
  readonly pooledBootstrap: BootstrapResult;
  /** Mean and SD over volunteers of first - second. */
  readonly mean: Computed;
  readonly sd: Computed;
  readonly meanBootstrap: BootstrapResult;
}

/** Sums over the cells of one recorder and activity, one place for each volunteer in `names`. */
interface Sums {
  readonly names: readonly string[];
  readonly right: Float64Array;
  readonly whole: Float64Array;
  readonly judged: number;
  readonly lost: number;
  readonly mistakes: Readonly<Record<MistakeKind, number>>;
  /** Volunteers with a segment in which nothing can be read: their segment is left out. */
  readonly unreadable: ReadonlySet<string>;
}

const unique = (names: Iterable<string>): string[] => [...new Set(names)];

function pick(cells: readonly StudyCell[], recorder: string, activity: string | null): StudyCell[] {
  return cells.filter(c => c.recorder === recorder && (activity === null || c.activity === activity));
}

function sumUp(cells: readonly StudyCell[]): Sums {
  const names = unique(cells.map(c => c.volunteer)).sort();
  const place = new Map(names.map((name, i) => [name, i] as const));
  const right = new Float64Array(names.length);
  const whole = new Float64Array(names.length);
  const mistakes = { missed: 0, wrongPeak: 0, extra: 0, unreadable: 0, noSignal: 0 };
  const unreadable = new Set<string>();
  let judged = 0;
  let lost = 0;
  for (const { volunteer, counts: c } of cells) {
    if (c.lost === null) {
      unreadable.add(volunteer);
      continue;
    }
    right[place.get(volunteer)!]! += c.right;
    whole[place.get(volunteer)!]! += c.judged + c.lost;
    judged += c.judged;
    lost += c.lost;
    mistakes.missed += c.wrongByMissed;
    mistakes.wrongPeak += c.wrongByWrongPeak;
    mistakes.extra += c.wrongByExtra;
    mistakes.unreadable += c.lostUnreadable ?? 0;
    mistakes.noSignal += c.lostNoSignal ?? 0;
  }
  return { names, right, whole, judged, lost, mistakes, unreadable };
}

const percents = ({ right, whole }: Sums) => right.map((r, i) => (whole[i]! > 0 ? (100 * r) / whole[i]! : Number.NaN));
const present = (values: Float64Array) => values.filter(v => !Number.isNaN(v));

function meanAndSd(values: Float64Array): { mean: Computed; sd: Computed } {
  const n = values.length;
  return {
    mean: n > 0 ? { value: mean(values), n } : notComputable('no volunteer'),
    sd: n > 1 ? { value: standardDeviation(values), n } : notComputable('needs two volunteers'),
  };
}

/** One row for each recorder and activity, and one for each recorder over all activities, in order of appearance. */
export function studyQuality(cells: readonly StudyCell[], settings: BootstrapSettings): QualityRow[] {
  const activities = [...unique(cells.map(c => c.activity)), null];
  return unique(cells.map(c => c.recorder)).flatMap(recorder =>
    activities.map(activity => qualityRow(recorder, activity, sumUp(pick(cells, recorder, activity)), settings)),
  );
}

function qualityRow(recorder: string, activity: string | null, sums: Sums, settings: BootstrapSettings): QualityRow {
  const { names, right, whole, judged, lost } = sums;
  const all = judged + lost;
  const rightIntervals = right.reduce((a, b) => a + b, 0);
  const own = percents(sums);
  const withIntervals = present(own);
  // Volunteers without an interval would only make draws without a value.
  const used = names.map((_, i) => i).filter(i => whole[i]! > 0);
  const at = (values: Float64Array) => Float64Array.from(used, i => values[i]!);
  const boot = clusterBootstraps(
    used.length,
    { pooled: pooledRatio(at(right), at(whole), 100), mean: meanOver(withIntervals), sd: sdOver(withIntervals) },
    settings,
  );
  return {
    recorder,
    activity,
    volunteers: used.length,
    right: rightIntervals,
    judged,
    lost,
    pooled: all > 0 ? { value: (100 * rightIntervals) / all, n: all } : notComputable('no interval to judge'),
    pooledClustered: inPercent(effectiveSizeRatio(right, whole, settings.level)),
    pooledJackknife: inPercent(clusterRatio(right, whole, settings.level)),
    pooledBootstrap: boot.pooled,
    pooledBootstrapT: inPercent(ratioBootstrapT(right, whole, settings)),
    ...meanAndSd(withIntervals),
    meanBootstrap: boot.mean,
    sdBootstrap: boot.sd,
    mistakes: mistakeKinds.map(kind => ({
      kind,
      intervals: sums.mistakes[kind],
      ofMistakes: share(sums.mistakes[kind], all - rightIntervals, 'no interval is wrong or lost'),
      ofAll: share(sums.mistakes[kind], all, 'no interval to judge'),
    })),
    perVolunteer: names.map((volunteer, i) => ({
      volunteer,
      quality: share(
        right[i]!,
        whole[i]!,
        sums.unreadable.has(volunteer) ? 'no readable beat' : 'no interval to judge',
      ),
    })),
  };
}

function share(part: number, whole: number, reason: string): Computed {
  return whole > 0 ? { value: (100 * part) / whole, n: whole } : notComputable(reason);
}

function inPercent(estimate: Estimate): Estimate {
  if (estimate.value === null) return estimate;
  const { value, interval } = estimate;
  return { ...estimate, value: 100 * value, interval: interval && [100 * interval[0], 100 * interval[1]] };
}

/**
 * Every pair of recorders, for each activity and over all, on the volunteers that wore both. Over all activities, of each
 * volunteer only those that both recorders have: what differs must be the recorders.
 */
export function pairedDifferences(cells: readonly StudyCell[], settings: BootstrapSettings): DifferenceRow[] {
  const recorders = unique(cells.map(c => c.recorder));
  const activities = [...unique(cells.map(c => c.activity)), null];
  return recorders.flatMap((first, i) =>
    recorders.slice(i + 1).flatMap(second => {
      const both = cellsOfBoth(cells, first, second);
      return activities.map(activity => differenceRow(both, first, second, activity, settings));
    }),
  );
}

/** The cells of two recorders in which both have intervals of the same volunteer in the same activity. */
function cellsOfBoth(cells: readonly StudyCell[], first: string, second: string): StudyCell[] {
  const placeOf = (c: StudyCell) => `${c.volunteer}\n${c.activity}`;
  const own = (recorder: string) => cells.filter(c => c.recorder === recorder);
  const used = (recorder: string) => new Set(own(recorder).flatMap(c => (hasIntervals(c.counts) ? placeOf(c) : [])));
  const [a, b] = [used(first), used(second)];
  return [...own(first), ...own(second)].filter(c => a.has(placeOf(c)) && b.has(placeOf(c)));
}

/** Right and all intervals of two recorders over all activities that both have, by volunteers with both. */
export function ratiosOfBoth(cells: readonly StudyCell[], first: string, second: string): readonly [Ratio, Ratio] {
  const both = cellsOfBoth(cells, first, second);
  return pairedRatios(sumUp(pick(both, first, null)), sumUp(pick(both, second, null)));
}

function pairedRatios(a: Sums, b: Sums): readonly [Ratio, Ratio] {
  const both = a.names.flatMap((name, i) => {
    const j = b.names.indexOf(name);
    return j >= 0 && a.whole[i]! > 0 && b.whole[j]! > 0 ? [[i, j] as const] : [];
  });
  const from = (values: Float64Array, side: 0 | 1) => Float64Array.from(both, pair => values[pair[side]]!);
  return [
    { parts: from(a.right, 0), wholes: from(a.whole, 0) },
    { parts: from(b.right, 1), wholes: from(b.whole, 1) },
  ];
}

function differenceRow(
  cells: readonly StudyCell[],
  first: string,
  second: string,
  activity: string | null,
  settings: BootstrapSettings,
): DifferenceRow {
  const [a, b] = pairedRatios(sumUp(pick(cells, first, activity)), sumUp(pick(cells, second, activity)));
  const volunteers = a.wholes.length;
  const percent = ({ parts, wholes }: Ratio, i: number) => (100 * parts[i]!) / wholes[i]!;
  const differences = Float64Array.from({ length: volunteers }, (_, i) => percent(a, i) - percent(b, i));
  const pooled = pairedDifference(pooledRatio(a.parts, a.wholes, 100), pooledRatio(b.parts, b.wholes, 100));
  const boot = clusterBootstraps(volunteers, { pooled, mean: meanOver(differences) }, settings);
  return {
    first,
    second,
    activity,
    volunteers,
    pooledClustered: inPercent(effectiveSizeDifference(a, b, settings.level)),
    pooledJackknife: clusterJackknife(volunteers, pooled, settings.level),
    pooledBootstrap: boot.pooled,
    pooledBootstrapT: inPercent(differenceBootstrapT(a, b, settings)),
    ...meanAndSd(differences),
    meanBootstrap: boot.mean,
  };
}
