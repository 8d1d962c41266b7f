import type { Note, RecordingReview } from '../../marks/edit';
import type { Segment } from '../../recording/recording';
import type { SampleIndex } from '../../units';

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
  if (kind === 'not sinus') return text === '' ? 'not sinus' : text;
  if (kind !== 'evidence') return text;
  const used = `Trace of ${recorder ?? 'another recorder'} used as evidence`;
  return text === '' ? `${used}.` : `${used}: ${text}`;
}

/** The remarks of a review, and the beats marked as not sinus as remarks without words. */
export function shownNotes({ notes, notSinus }: Pick<RecordingReview, 'notes' | 'notSinus'>): readonly Note[] {
  if (notSinus.length === 0) return notes;
  const beats = Array.from(notSinus, at => at as SampleIndex);
  return [
    ...notes,
    ...beats.map(at => ({ id: `not sinus ${at}`, kind: 'not sinus', start: at, end: at, text: '' }) as const),
  ];
}
