import type { Note, RecordingReview } from '../marks/edit';
import { between } from '../marks/markset';
import { BeatOutcome } from '../marks/match';
import { intersect, union } from '../marks/spans';
import { ecgLeadOf } from '../recording/ecg-lead';
import type { SessionRecording } from '../review/session';
import type { RecordingScore } from '../score/score';
import { type Span, sampleIndex } from '../units';
import type { CountedReview } from './counted-review';
import type { MistakeKind } from './quality-table';

/** A comment that begins so is a wish to see the place in the report. */
const wish = /^example\b[\s:,.-]*/i;
const stripSeconds = 8;
const mostStrips = 12;

/** A place picked by a rater's comment, and what is marked there. Positions in s from the strip's start. */
export interface ExampleStrip {
  readonly session: string;
  readonly volunteer: string;
  readonly recordingId: string;
  readonly recorder: string;
  readonly activity: string | null;
  readonly rater: string;
  readonly comment: string;
  /** What is wrong in the strip, first the kind nearest to the comment. */
  readonly kinds: readonly MistakeKind[];
  readonly lead: number;
  readonly leadName: string;
  readonly samplingRateHz: number;
  /** In samples of the recording. */
  readonly start: number;
  readonly end: number;
  readonly detectedSeconds: readonly number[];
  readonly reviewedSeconds: readonly number[];
  /** Half-open, clipped to the strip. */
  readonly unreadableSeconds: readonly (readonly [number, number])[];
}

/** A strip with the signal it is drawn from, in mV, evenly spaced over the strip; empty where none is stored. */
export interface DrawnStrip extends ExampleStrip {
  readonly millivolts: readonly number[];
}

/**
 * The raters' comments that begin with "example"; where a study has none, the first comment for each recorder and kind of
 * mistake. At most twelve.
 */
export function exampleStrips(
  reviews: readonly CountedReview[],
  scoreOf: (counted: CountedReview, item: SessionRecording) => RecordingScore,
): ExampleStrip[] {
  const all = reviews.flatMap(counted =>
    counted.session.recordings.flatMap(item => {
      const review = counted.recordings.get(item.recording.id)!;
      const notes = review.notes.filter(n => n.kind === 'comment' || n.kind === 'not sinus');
      return notes.map(note => ({ note, strip: stripOf(counted, item, review, scoreOf(counted, item), note) }));
    }),
  );
  const wished = all.filter(({ note }) => wish.test(note.text)).map(({ strip }) => strip);
  return (wished.length > 0 ? wished : firstOfEach(all.map(({ strip }) => strip))).slice(0, mostStrips);
}

function firstOfEach(strips: readonly ExampleStrip[]): ExampleStrip[] {
  const seen = new Set<string>();
  return strips.filter(({ recorder, kinds }) => {
    const key = `${kinds[0] ?? 'nothing wrong'}/${recorder}`;
    return !seen.has(key) && seen.add(key);
  });
}

function stripOf(
  counted: CountedReview,
  item: SessionRecording,
  review: RecordingReview,
  score: RecordingScore,
  note: Note,
): ExampleStrip {
  const { recording, detected } = item;
  const rateHz = recording.samplingRateHz;
  const lead = ecgLeadOf(recording);
  const length = Math.min(recording.sampleCount, Math.round(stripSeconds * rateHz));
  const start = Math.max(0, Math.min(recording.sampleCount - length, Math.round((note.start + note.end - length) / 2)));
  const strip: Span = { start: sampleIndex(start), end: sampleIndex(start + length) };
  const seconds = (samples: ArrayLike<number>) => Array.from(samples, s => (s - start) / rateHz);
  const unreadable = intersect(union(review.unreadable, recording.gaps), [strip]);
  return {
    session: counted.session.id,
    volunteer: counted.session.participant,
    recordingId: recording.id,
    recorder: recording.recorder,
    activity: item.segments.find(s => s.start <= note.start && note.start < s.end)?.name ?? null,
    rater: counted.log.header.rater,
    comment: note.text.replace(wish, ''),
    kinds: kindsIn(score, recording.gaps, strip, note.start),
    lead,
    leadName: recording.leads[lead]?.name ?? '',
    samplingRateHz: rateHz,
    start,
    end: start + length,
    detectedSeconds: seconds(between(detected, strip.start, strip.end)),
    reviewedSeconds: seconds(between(review.marks, strip.start, strip.end)),
    unreadableSeconds: unreadable.map(s => [(s.start - start) / rateHz, (s.end - start) / rateHz] as const),
  };
}

function kindsIn(score: RecordingScore, gaps: readonly Span[], strip: Span, at: number): MistakeKind[] {
  const { beats, marks, outcome, beatOfMark } = score.matching;
  const found: { kind: MistakeKind; apart: number }[] = [];
  const add = (kind: MistakeKind, sample: number) => {
    if (sample >= strip.start && sample < strip.end) found.push({ kind, apart: Math.abs(sample - at) });
  };
  for (let k = 0; k < beats.length; k++) {
    if (outcome[k] === BeatOutcome.missed) add('missed', beats[k]!);
    else if (outcome[k] === BeatOutcome.wrongPeak) add('wrongPeak', beats[k]!);
  }
  for (let j = 0; j < marks.length; j++) if (beatOfMark[j] === -1) add('extra', marks[j]!);
  for (const s of score.input.unreadable) add('unreadable', Math.max(s.start, Math.min(at, s.end - 1)));
  for (const s of gaps) add('noSignal', Math.max(s.start, Math.min(at, s.end - 1)));
  return [...new Set(found.sort((a, b) => a.apart - b.apart).map(f => f.kind))];
}
