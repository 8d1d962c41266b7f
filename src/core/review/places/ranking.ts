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
import type { Marks } from '../../marks/markset';
import type { Span } from '../../units';
import type { SessionRecording } from '../session';
import { type QueueItem, reviewQueue } from './queue';
import { recordingEffects } from './recording-effects';

/** What one pass over a lead gives: a second opinion on the beats, and the places found on the detected marks. */
export interface LeadAnalysis {
  readonly detection: Detection;
  readonly table: SuspicionTable;
}

/** Judges every detected mark: seconds for a day, so not on the page's own thread. */
export function leadAnalysis(
  detection: Detection,
  features: SignalFeatures,
  marks: Marks,
  gaps: readonly Span[],
): LeadAnalysis {
  const { samples: second, probability: secondChance, unsure: secondUnsure } = detection;
  const input = { features, marks, second, secondChance, secondUnsure, gaps, unreadable: [] };
  return { detection, table: suspicionTable(input) };
}

/** The review queue of one recording, following its review: after an edit only what is near it is judged again. */
export function createRanking(
  { table: before }: Pick<LeadAnalysis, 'table'>,
  { recording, detected }: SessionRecording,
): (review: RecordingReview) => readonly QueueItem[] {
  const proposals = unreadablePlaces(before);
  /** The places found on the detected marks: what became of them says how much each group of them is worth here. */
  const first: readonly Suspicion[] = [...proposals, ...listed(before)];
  let table = before;
  let of: RecordingReview | null = null;
  let items: readonly QueueItem[] = [];
  return review => {
    if (review === of) return items;
    if (of?.marks !== review.marks || of.unreadable !== review.unreadable) {
      const { marks, unreadable } = review;
      table = updateSuspicions(table, { ...table.input, marks, unreadable });
    }
    of = review;
    const effects = recordingEffects(first, detected, review, recording.samplingRateHz);
    items = reviewQueue([...proposals, ...listed(table)], review, recording.samplingRateHz, effects);
    return items;
  };
}
