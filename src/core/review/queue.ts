import type { Candidate, Suspicion } from '../detector/suspicion/suspicion';
import type { RecordingReview } from '../marks/edit';
import { covers } from '../marks/spans';
import type { SampleIndex } from '../units';

/** One line of the review queue. */
export interface QueueItem {
  /** Stable while the place stays: names the mark or the missing beat. */
  readonly id: string;
  readonly at: SampleIndex;
  /** Null when it is about a beat without a mark. */
  readonly mark: SampleIndex | null;
  /** The strongest reason and what it says; use it for a Dismissal. */
  readonly reason: string;
  readonly sentence: string;
  /** All reasons in words, strongest first. */
  readonly sentences: readonly string[];
  readonly score: number;
  readonly candidates: readonly Candidate[];
}

/** A dismissal holds for this place: a missing beat's estimated position may wander a little as marks change. */
const samePlaceMs = 150;

/**
 * The queue of one recording, most suspicious first (ties: earlier first). Left out: what the rater dismissed, what
 * lies in a stretch they accepted or called unreadable.
 */
export function reviewQueue(found: readonly Suspicion[], review: RecordingReview, samplingRateHz: number): QueueItem[] {
  const dismissedMarks = new Set(review.dismissals.map(d => d.at));
  const places = Float64Array.from(review.dismissals, d => d.at).sort();
  const near = (samePlaceMs * samplingRateHz) / 1000;
  const out: QueueItem[] = [];
  for (const s of found) {
    if (s.mark !== null ? dismissedMarks.has(s.mark) : anyWithin(places, s.at, near)) continue;
    if (covers(review.accepted, s.at) || covers(review.unreadable, s.at)) continue;
    out.push(toItem(s));
  }
  return out.sort((a, b) => b.score - a.score || a.at - b.at);
}

function toItem(s: Suspicion): QueueItem {
  const first = s.findings[0]!;
  return {
    id: `${s.mark === null ? 'missing' : 'mark'}@${s.at}`,
    at: s.at,
    mark: s.mark,
    reason: first.reason,
    sentence: first.sentence,
    sentences: s.findings.map(f => f.sentence),
    score: s.score,
    candidates: s.candidates,
  };
}

function anyWithin(sorted: Float64Array, at: number, reach: number): boolean {
  let lo = 0;
  let hi = sorted.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (sorted[mid]! < at - reach) lo = mid + 1;
    else hi = mid;
  }
  return lo < sorted.length && sorted[lo]! <= at + reach;
}
