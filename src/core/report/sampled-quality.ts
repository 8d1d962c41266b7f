import { sampledCountWords, sampledQualityWords, sampledWords } from '../review/standing/sampled-words';
import { sampledIntervalMethod } from '../sample/number';
import { classShares, classWeights } from '../sample/stretches';
import { tQuantile } from '../score/distributions';
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

/** Variant and source of the pooled interval. */
export const sampledPoolingMethod =
  'pooled by the number of intervals, which a sample estimates; variance between volunteers (ultimate clusters: Hansen, Hurwitz & Madow 1953, from memory) plus the sampling variance of each sampled review, taken from the width of its own interval, which is on the safe side; t interval with volunteers - 1 df, cut off at 100 %. How often it holds the truth has not been simulated';

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
        pooled: pool(volunteers, level),
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

/** Half the width of a 95 % interval over its standard error, were it a normal one. */
const normal95 = 1.959964;

function pool(volunteers: readonly SampledVolunteer[], level: number): Estimate {
  const known = volunteers.flatMap(v =>
    v.quality.value === null ? [] : [{ quality: v.quality.value, intervals: v.intervals, interval95: v.interval95 }],
  );
  const n = known.length;
  const all = known.reduce((sum, v) => sum + v.intervals, 0);
  if (all === 0) return notComputable('no volunteer with a number');
  const value = known.reduce((sum, v) => sum + v.intervals * v.quality, 0) / all;
  const none = (intervalReason: string): Estimate => ({ value, n, level, interval: null, intervalReason });
  if (n < 2) return none('needs two volunteers; that of the one is beside it');
  const between = (n / (n - 1)) * known.reduce((sum, v) => sum + ((v.intervals / all) * (v.quality - value)) ** 2, 0);
  const sampling = known.reduce((sum, { intervals, interval95 }) => {
    const error = interval95 ? (interval95[1] - interval95[0]) / 2 / normal95 : 0;
    return sum + ((intervals / all) * error) ** 2;
  }, 0);
  const half = tQuantile(0.5 + level / 2, n - 1) * Math.sqrt(between + sampling);
  return { value, n, level, interval: [Math.max(0, value - half), Math.min(100, value + half)] };
}

/** What was done where reviews were samples, with what repeats each number; null without any. */
export function sampledText(segments: readonly SegmentRow[]): string | null {
  const own = segments.filter(s => s.standing.sampled);
  if (own.length === 0) return null;
  const seconds = [...new Set(own.map(s => s.standing.sampled!.stretchSeconds))].join(' or ');
  const shares = classShares.map(s => `${100 * s} %`).join(', ');
  return [
    `${own.length} of ${segments.length} segments were reviewed as a sample: stretches of ${seconds} s drawn at random without replacement in a weighted order (Efraimidis & Spirakis, Inf Process Lett 2006;97:181) that the rater did not see.`,
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
