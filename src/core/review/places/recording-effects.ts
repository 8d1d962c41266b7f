import type { Suspicion } from '../../detector/suspicion/suspicion';
import type { RecordingReview } from '../../marks/edit';
import { has, lowerBound, type Marks } from '../../marks/markset';
import { covers } from '../../marks/spans';
import { groupOf, usualSpread } from './groups';
import { conditional, type Effect, estimateEffect } from './random-intercept';

/** By group of places: how its log-odds of a mistake lie in this recording. A group without a decision is left out. */
export type RecordingEffects = ReadonlyMap<string, Effect>;

/** A mark set this near to where a beat was said to be missing is that beat. */
const sameBeatMs = 150;

/**
 * What the person's own decisions say about each group of places in this recording.
 * @param first the places found on the detected marks, before anything was changed
 * @param review the review as it stands: a place was a mistake where the mark is gone or a beat was added, and none where
 *   it was set aside or accepted as it was
 */
export function recordingEffects(
  first: readonly Suspicion[],
  detected: Marks,
  review: RecordingReview,
  samplingRateHz: number,
): RecordingEffects {
  const decided = new Map<string, { logOdds: number[]; mistakes: number }>();
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
    const group = groupOf(
      s.score,
      s.findings.map(f => f.reason),
    );
    const own = decided.get(group) ?? { logOdds: [], mistakes: 0 };
    own.logOdds.push(conditional(s.score, usualSpread(group)));
    own.mistakes += corrected ? 1 : 0;
    decided.set(group, own);
  }
  const effects = [...decided].map(([group, { logOdds, mistakes }]) => {
    return [group, estimateEffect(logOdds, mistakes, usualSpread(group))] as const;
  });
  return new Map(effects);
}

/** The effect of a group, also where nothing is known of it yet. */
export function effectOn(effects: RecordingEffects | undefined, group: string): Effect {
  return effects?.get(group) ?? { shift: 0, spread: usualSpread(group) };
}

/** Whether a mark stands near a place that the recorder had none at. */
function added(detected: Marks, marks: Marks, at: number, near: number): boolean {
  for (let i = lowerBound(marks, at - near); i < marks.length && marks[i]! <= at + near; i++) {
    if (!has(detected, marks[i]!)) return true;
  }
  return false;
}
