import type { MatchSettings } from '../marks/match';
import { scoreReview } from '../review/standing/score-review';
import { effectiveSizeRatio } from '../score/effective-size';
import type { Computed, Interval } from '../score/result';
import type { CountedReview } from './counted-review';
import type { SegmentRow } from './rows';

/** Tolerances in ms that the quality is computed with once more. */
const tolerancesMs = [30, 50, 75, 100] as const;

/** Quality of one recorder over all activities, with one tolerance for a mark to be on the peak. */
export interface ToleranceRow {
  readonly recorder: string;
  readonly toleranceMs: number;
  /** Pooled, in percent; n = judged and lost intervals. */
  readonly quality: Computed;
  readonly interval: Interval | null;
  readonly missed: number;
  readonly wrongPeak: number;
  readonly extra: number;
}

/** Sums of one volunteer with one recorder. */
interface Sums {
  right: number;
  whole: number;
  missed: number;
  wrongPeak: number;
  extra: number;
}

/** How much the quality hangs on the tolerance: the segments of `rows`, scored again with each. `level` of the interval. */
export function toleranceTable(
  reviews: readonly CountedReview[],
  rows: readonly Pick<SegmentRow, 'session' | 'recorder' | 'activity'>[],
  match: MatchSettings,
  level: number,
): ToleranceRow[] {
  const recorders = [...new Set(rows.map(r => r.recorder))];
  const used = new Set(rows.map(keyOf));
  return recorders.flatMap(recorder =>
    tolerancesMs.map(onPeakToleranceMs => {
      const settings = { ...match, onPeakToleranceMs };
      const sums = volunteerSums(reviews, recorder, used, settings).filter(s => s.whole > 0);
      return rowOf(recorder, onPeakToleranceMs, sums, level);
    }),
  );
}

const keyOf = (r: { session: string; recorder: string; activity: string }) =>
  [r.session, r.recorder, r.activity].join('\n');

function volunteerSums(
  reviews: readonly CountedReview[],
  recorder: string,
  used: ReadonlySet<string>,
  settings: MatchSettings,
): Sums[] {
  const sums = new Map<string, Sums>();
  for (const { session, recordings } of reviews) {
    const own = sums.get(session.participant) ?? { right: 0, whole: 0, missed: 0, wrongPeak: 0, extra: 0 };
    sums.set(session.participant, own);
    for (const item of session.recordings.filter(i => i.recording.recorder === recorder)) {
      for (const { segment, counts } of scoreReview(item, recordings.get(item.recording.id)!, settings).segments) {
        if (counts.lost === null || !used.has(keyOf({ session: session.id, recorder, activity: segment.name })))
          continue;
        own.right += counts.right;
        own.whole += counts.judged + counts.lost;
        own.missed += counts.missed;
        own.wrongPeak += counts.wrongPeak;
        own.extra += counts.extra;
      }
    }
  }
  return [...sums.values()];
}

function rowOf(recorder: string, toleranceMs: number, sums: readonly Sums[], level: number): ToleranceRow {
  const sum = (of: keyof Sums) => sums.reduce((n, s) => n + s[of], 0);
  const n = sum('whole');
  const pooled = effectiveSizeRatio(
    sums.map(s => s.right),
    sums.map(s => s.whole),
    level,
  );
  const interval = pooled.value === null ? null : pooled.interval;
  return {
    recorder,
    toleranceMs,
    quality: n > 0 ? { value: (100 * sum('right')) / n, n } : { value: null, reason: 'no interval to judge' },
    interval: interval && [100 * interval[0], 100 * interval[1]],
    missed: sum('missed'),
    wrongPeak: sum('wrongPeak'),
    extra: sum('extra'),
  };
}
