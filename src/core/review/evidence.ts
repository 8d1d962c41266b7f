import type { Note, RecordingReview } from '../marks/edit';
import type { Segment } from '../recording/recording';
import type { SampleIndex } from '../units';

/** The trace of another recorder looked at because the own one could not be read there. */
export function evidenceNote(id: string, at: SampleIndex, recorder: string): Note {
  return { id, kind: 'evidence', start: at, end: at, text: '', recorder };
}

/** Places of a segment at which another trace was used. */
export function evidenceIn(review: Pick<RecordingReview, 'notes'>, segment: Pick<Segment, 'start' | 'end'>): number {
  return review.notes.filter(n => n.kind === 'evidence' && n.start >= segment.start && n.start < segment.end).length;
}

/** A remark in words. */
export function noteText({ kind, text, recorder }: Pick<Note, 'kind' | 'text' | 'recorder'>): string {
  if (kind !== 'evidence') return text;
  const used = `Trace of ${recorder ?? 'another recorder'} used as evidence`;
  return text === '' ? `${used}.` : `${used}: ${text}`;
}
