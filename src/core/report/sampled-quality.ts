import { amount } from '../amount';
import { sampledCountWords, sampledQualityWords, sampledWords } from '../review/standing/sampled-words';
import { sampledIntervalMethod } from '../sample/number';
import { classShares, classWeights } from '../sample/stretches';
import { effectiveSizeMethod, effectiveSizeRatio } from '../score/effective-size';
import { type Computed, type Estimate, type Interval, notComputable } from '../score/result';
import type { SegmentRow } from './rows';

/** One volunteer in a table that has sampled reviews in it. */
export interface SampledVolunteer {
  readonly volunteer: string;
  /** 'full review', or 'sampled, 240 of 1440 stretches'. */
  readonly review: string;
  readonly quality: Computed;
  /** Of a sample alone: a full review has no sampling error. */
  readonly interval95: Interval | null;
  /** Intervals of the segment; of a sample, as estimated. */
  readonly intervals: number;
}

/** One recorder in one activity, where at least one volunteer's review is a sample. */
export interface SampledRow {
  readonly recorder: string;
  readonly activity: string;
  readonly volunteers: readonly SampledVolunteer[];
  readonly sampled: number;
  /** Pooled over volunteers by their intervals, in percent. */
  readonly pooled: Estimate;
}

/**
 * In how many of 100 simulated studies the pooled interval held the true quality, over all populations and numbers of
 * volunteers: as stored with the script in tests/reference/sample (pooled-coverage.ts); a test holds the two equal.
 */
export const pooledHeldOf100 = { least: 92, most: 100 } as const;

/** Variant and source of the pooled interval. */
export const sampledPoolingMethod = `pooled by the number of intervals, which a sample estimates; interval over volunteers: ${effectiveSizeMethod}; widened by the distance of each sample's estimate from the ends of its own interval, weighted and added as squares (MOVER: Zou & Donner, Stat Med 2008;27:1693, from memory), so that the sampling error of every sampled review is in it. In simulated studies of 4 to 24 volunteers from eight populations, all or half of them sampled to 1 point on either side, it held the true quality in ${pooledHeldOf100.least} to ${pooledHeldOf100.most} of 100`;

/** Full and sampled reviews together, each named; nothing where no review is a sample. */
export function sampledTable(segments: readonly SegmentRow[], level = 0.95): SampledRow[] {
  const usable = segments.filter(s => s.standing.status === 'sampled' || s.standing.status === 'final');
  const keys = new Map<string, SegmentRow[]>();
  for (const row of usable) {
    const key = `${row.recorder}\n${row.activity}`;
    keys.set(key, [...(keys.get(key) ?? []), row]);
  }
  return [...keys.values()]
    .filter(rows => rows.some(r => r.standing.sampled))
    .map(rows => {
      const volunteers = rows.map(volunteerOf);
      const sampled = rows.filter(r => r.standing.sampled).length;
      return {
        recorder: rows[0]!.recorder,
        activity: rows[0]!.activity,
        volunteers,
        sampled,
        pooled: poolSampled(volunteers, level),
      };
    });
}

function volunteerOf({ volunteer, standing, counts }: SegmentRow): SampledVolunteer {
  const { sampled } = standing;
  if (sampled) {
    const { quality, interval95, intervals } = sampled;
    return { volunteer, review: sampledWords(sampled), quality, interval95, intervals };
  }
  const { right, judged, lost } = counts;
  const all = judged + (lost ?? 0);
  const quality: Computed =
    lost === null || all === 0 ? notComputable('no readable beat') : { value: (100 * right) / all, n: all };
  return { volunteer, review: 'full review', quality, interval95: null, intervals: all };
}

/** Quality of several volunteers together, in percent, where some reviews are samples: see `sampledPoolingMethod`. */
export function poolSampled(
  volunteers: readonly Pick<SampledVolunteer, 'quality' | 'interval95' | 'intervals'>[],
  level = 0.95,
): Estimate {
  const known = volunteers.flatMap(({ quality, intervals, interval95 }) =>
    quality.value === null || intervals === 0 ? [] : [{ quality: quality.value, intervals, interval95 }],
  );
  if (known.length === 0) return notComputable('no volunteer with a number');
  const rights = known.map(v => (v.quality * v.intervals) / 100);
  const intervals = known.map(v => v.intervals);
  const between = effectiveSizeRatio(rights, intervals, level);
  if (between.value === null) return between;
  const head = { value: 100 * between.value, n: between.n, level };
  if (!between.interval)
    return { ...head, interval: null, intervalReason: 'needs two volunteers; that of the one is beside it' };
  const all = intervals.reduce((sum, n) => sum + n, 0);
  const [low, high] = between.interval.map(end => 100 * end) as [number, number];
  const away = (end: 0 | 1, own: number) =>
    Math.hypot(
      own,
      ...known.map(v => (v.interval95 ? (v.intervals / all) * Math.abs(v.quality - v.interval95[end]) : 0)),
    );
  const interval: Interval = [
    Math.max(0, head.value - away(0, head.value - low)),
    Math.min(100, head.value + away(1, high - head.value)),
  ];
  return { ...head, interval };
}

/** What was done where reviews were samples, with what repeats each number; null without any. */
export function sampledText(segments: readonly SegmentRow[]): string | null {
  const own = segments.filter(s => s.standing.sampled);
  if (own.length === 0) return null;
  const seconds = [...new Set(own.map(s => s.standing.sampled!.stretchSeconds))].join(' or ');
  const shares = classShares.map(s => `${100 * s} %`).join(', ');
  return [
    `${own.length} of ${amount(segments.length, 'segment was', 'segments were')} reviewed as a sample: stretches of ${seconds} s drawn at random without replacement in a weighted order (Efraimidis & Spirakis, Inf Process Lett 2006;97:181) that the rater did not see.`,
    `The weight of a stretch is a bound on its RR intervals (1.25 times the marks in it, rounded up, plus 1) times ${classWeights.join(', ')} by its class: the most suspicious ${shares} of the stretches, and the rest. Seed, classes and bounds were fixed before the first stretch was shown and are in the log.`,
    `Interval: ${sampledIntervalMethod}. It assumes that no stretch holds more intervals than its bound, and does not cover mistakes of the rater. Unreadable time counts as lost intervals unrounded.`,
    `${own.map(sampleWords).join('; ')}.`,
    'To repeat such a number from the session bundle on the command line: “sample BUNDLE --seed SEED” gives the order, “sample BUNDLE --rater CODE” the stretches as reviewed, and “sample-interval” the quality and interval from these.',
    `Sampled segments are in no table of full reviews, but in a table of their own: ${sampledPoolingMethod}.`,
    'Heart rate, HRV and agreement of recorders need continuous time: they are not computable from a sample.',
  ].join(' ');
}

function sampleWords({ volunteer, recorder, activity, source, standing }: SegmentRow): string {
  const number = standing.sampled!;
  return `${volunteer}, ${recorder}, ${activity}, by ${source}: ${sampledWords(number)}, ${sampledCountWords(number)}, seed ${number.seed}, quality ${sampledQualityWords(number)}`;
}
