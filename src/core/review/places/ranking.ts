import type { Detection } from '../../detector/detect';
import type { SignalFeatures } from '../../detector/suspicion/features';
import {
  listed,
  type Suspicion,
  type SuspicionTable,
  suspicionTable,
  unreadablePlaces,
  updateSuspicions,
} from '../../detector/suspicion/suspicion';
import type { RecordingReview } from '../../marks/edit';
import type { SessionRecording } from '../session';
import { type QueueItem, reviewQueue } from './queue';
import { reasonOdds } from './reweigh';

/** What one pass over a lead gives: a second opinion on the beats, and the signal's features. */
export interface LeadAnalysis {
  readonly detection: Detection;
  readonly features: SignalFeatures;
}

/** The review queue of one recording, following its review: after an edit only what is near it is judged again. */
export function createRanking(
  { detection, features }: LeadAnalysis,
  { recording, detected }: SessionRecording,
): (review: RecordingReview) => readonly QueueItem[] {
  const { samples: second, probability: secondChance, unsure: secondUnsure } = detection;
  const { gaps, samplingRateHz } = recording;
  let table: SuspicionTable | null = null;
  /** The places found on the detected marks: what became of them says how much each reason is worth here. */
  let first: readonly Suspicion[] | null = null;
  let proposals: readonly Suspicion[] = [];
  let of: RecordingReview | null = null;
  let items: readonly QueueItem[] = [];
  return review => {
    if (review === of) return items;
    if (!first) {
      // The review's own empty list, where it is one: with another list the whole table would be made twice.
      const unreadable = review.unreadable.length === 0 ? review.unreadable : [];
      const before = suspicionTable({
        features,
        marks: detected,
        second,
        secondChance,
        secondUnsure,
        gaps,
        unreadable,
      });
      proposals = unreadablePlaces(before);
      first = [...proposals, ...listed(before)];
      table = before;
    }
    if (of?.marks !== review.marks || of.unreadable !== review.unreadable) {
      const { marks, unreadable } = review;
      table = updateSuspicions(table!, { ...table!.input, marks, unreadable });
    }
    of = review;
    const odds = reasonOdds(first, detected, review, samplingRateHz);
    items = reviewQueue([...proposals, ...listed(table!)], review, samplingRateHz, odds);
    return items;
  };
}
