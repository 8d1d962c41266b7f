import type { RecordingReview } from '../../core/marks/edit';
import type { LeadSamples } from '../../core/recording/recording';
import { type Provenance, provenanceLines } from '../../core/report/provenance';
import type { SessionRecording } from '../../core/review/session';
import { type EdfAnnotation, edfTexts, toAnnotations } from './annotations';
import type { EdfContent } from './layout';

/**
 * EDF+ content of one recording as reviewed: marks, segments and unreadable spans as annotations. With `leads` the signal
 * goes in too; with none it becomes a file of annotations only, to lie beside the recording. What it was made from stands in
 * annotations at its start.
 */
export function reviewedEdf(
  item: SessionRecording,
  review: RecordingReview,
  leads: readonly LeadSamples[],
  participant: string,
  provenance: Provenance,
): EdfContent {
  const rateHz = item.recording.samplingRateHz;
  const unreadable = review.unreadable.map(s => ({
    onsetSeconds: s.start / rateHz,
    durationSeconds: (s.end - s.start) / rateHz,
    text: edfTexts.unreadable,
  }));
  const recording = leads.length > 0 ? item.recording : { ...item.recording, leads: [], gaps: [] };
  const annotations = [...madeFrom(provenance), ...toAnnotations(review.marks, item.segments, rateHz), ...unreadable];
  return { recording, leads, annotations, participant };
}

/** A text fits a data record's channel of 128 bytes beside the time stamps, so that it makes no record larger. */
const longestText = 90;

function madeFrom(provenance: Provenance): EdfAnnotation[] {
  return provenanceLines(provenance)
    .flatMap(line => pieces(line))
    .map(text => ({ onsetSeconds: 0, durationSeconds: null, text: `${edfTexts.madeFrom} ${text}` }));
}

/** At most `longestText` bytes each, cut between words where that is possible; all but the first begin with dots. */
function pieces(line: string): string[] {
  const bytes = (text: string) => new TextEncoder().encode(text).length;
  const out: string[] = [];
  let piece = '';
  for (const part of line.split(/(?<= )/).flatMap(word => word.match(/.{1,30}/gsu) ?? [])) {
    if (bytes(piece + part) > longestText) {
      out.push(piece.trimEnd());
      piece = '… ';
    }
    piece += part;
  }
  return [...out, piece];
}
