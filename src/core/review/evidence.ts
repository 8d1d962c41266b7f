import type { Note, RecordingReview } from '../marks/edit';
import type { Segment } from '../recording/recording';

/**
 * Where a rater looked at the other recorder's trace because the own one could not be read. Such a place is a comment
 * with a fixed wording, so that it stands in the log like any other and can be counted.
 */
const opening = 'Other trace used as evidence: ';

export function evidenceText(otherRecorder: string): string {
  return `${opening}${otherRecorder}.`;
}

export function isEvidence(note: Pick<Note, 'kind' | 'text'>): boolean {
  return note.kind === 'comment' && note.text.startsWith(opening);
}

/** Places of a segment at which the other trace was used. */
export function evidenceIn(review: Pick<RecordingReview, 'notes'>, segment: Pick<Segment, 'start' | 'end'>): number {
  return review.notes.filter(n => isEvidence(n) && n.start >= segment.start && n.start < segment.end).length;
}
