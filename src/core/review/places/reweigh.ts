import type { Suspicion } from '../../detector/suspicion/suspicion';
import type { RecordingReview } from '../../marks/edit';
import { has, lowerBound, type Marks } from '../../marks/markset';
import { covers } from '../../marks/spans';

/**
 * What the person's own decisions say about a reason in this recording: by how much to multiply the odds of a mistake
 * where that reason comes first.
 */
export type ReasonOdds = ReadonlyMap<string, number>;

/** Mistakes of prior belief in the model's chances: as many must be confirmed or denied to move them half-way. */
const prior = 3;
const most = 10;
/** A mark set this near to where a beat was said to be missing is that beat. */
const sameBeatMs = 150;

/**
 * @param first the places found on the detected marks, before anything was changed
 * @param review the review as it stands: a place was a mistake where the mark is gone or a beat was added, and none where
 *   it was set aside or accepted as it was
 */
export function reasonOdds(
  first: readonly Suspicion[],
  detected: Marks,
  review: RecordingReview,
  samplingRateHz: number,
): ReasonOdds {
  const counts = new Map<string, { said: number; were: number }>();
  const near = (sameBeatMs * samplingRateHz) / 1000;
  const dismissed = Float64Array.from(review.dismissals, d => d.at).sort();
  const aside = (at: number, reach: number) => {
    const i = lowerBound(dismissed as unknown as Marks, at - reach);
    return i < dismissed.length && dismissed[i]! <= at + reach;
  };
  for (const s of first) {
    const [choice] = s.candidates;
    const hides = choice?.kind === 'unreadable';
    if (!hides && covers(review.unreadable, s.at)) continue;
    const corrected = hides
      ? covers(review.unreadable, (choice.at + choice.end) / 2)
      : s.mark !== null
        ? !has(review.marks, s.mark)
        : s.leads.some(at => added(detected, review.marks, at, near));
    const kept = covers(review.accepted, s.at) || aside(s.at, s.mark !== null ? 0 : near);
    if (!corrected && !kept) continue;
    const reason = s.findings[0]!.reason;
    const count = counts.get(reason) ?? { said: 0, were: 0 };
    count.said += s.score;
    count.were += corrected ? 1 : 0;
    counts.set(reason, count);
  }
  const odds = ([reason, { said, were }]: [string, { said: number; were: number }]) =>
    [reason, Math.min(most, Math.max(1 / most, (were + prior) / (said + prior)))] as const;
  return new Map([...counts].map(odds));
}

/** Whether a mark stands near a place that the recorder had none at. */
function added(detected: Marks, marks: Marks, at: number, near: number): boolean {
  for (let i = lowerBound(marks, at - near); i < marks.length && marks[i]! <= at + near; i++) {
    if (!has(detected, marks[i]!)) return true;
  }
  return false;
}

/** A chance with its odds multiplied. */
export function withOdds(chance: number, factor: number): number {
  return (chance * factor) / (1 - chance + chance * factor);
}
