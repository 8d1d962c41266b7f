import type { RecordingReview } from '../../core/marks/edit';
import type { LeadSamples } from '../../core/recording/recording';
import type { SessionRecording } from '../../core/review/session';
import { edfTexts, toAnnotations } from './annotations';
import type { EdfContent } from './layout';

/**
 * EDF+ content of one recording as reviewed: marks, segments and unreadable spans as annotations. With `leads` the signal
 * goes in too; with none it becomes a file of annotations only, to lie beside the recording.
 */
export function reviewedEdf(
  item: SessionRecording,
  review: RecordingReview,
  leads: readonly LeadSamples[],
  participant: string,
): EdfContent {
  const rateHz = item.recording.samplingRateHz;
  const unreadable = review.unreadable.map(s => ({
    onsetSeconds: s.start / rateHz,
    durationSeconds: (s.end - s.start) / rateHz,
    text: edfTexts.unreadable,
  }));
  const recording = leads.length > 0 ? item.recording : { ...item.recording, leads: [], gaps: [] };
  const annotations = [...toAnnotations(review.marks, item.segments, rateHz), ...unreadable];
  return { recording, leads, annotations, participant };
}
