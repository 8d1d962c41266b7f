import { leadInWords } from '../../core/detector/choose-lead';
import { fitDoubt, fitMarks } from '../../core/detector/marks-fit';
import { detectorName } from '../../core/detector/name';
import { between, type Marks, marksFrom } from '../../core/marks/markset';
import { defaultMatchSettings } from '../../core/marks/match';
import type { Origin, Segment } from '../../core/recording/recording';
import { durationSeconds } from '../../core/recording/recording';
import { distinctSegments } from '../../core/recording/segment-names';
import type { Session, SessionRecording } from '../../core/review/session';
import { type AnnotationChoice, fromAnnotations, groupAnnotations } from '../../formats/edf/annotations';
import type { ImportedRecorder } from './row';

/** Annotation groups of a recorder with what each is read as. */
export function annotationUses({ annotations, uses }: ImportedRecorder) {
  return groupAnnotations(annotations).map(g => ({ ...g, use: uses.get(g.text) ?? g.use }));
}

function choiceOf(recorder: ImportedRecorder): AnnotationChoice {
  const groups = annotationUses(recorder);
  const texts = (use: string) => groups.filter(g => g.use === use).map(g => g.text);
  return { marksTexts: texts('marks'), segmentTexts: texts('segments') };
}

const ownOf = once((recorder: ImportedRecorder) =>
  fromAnnotations(recorder.annotations, recorder.opened.recording, choiceOf(recorder)),
);

/** Worked out once for each recorder as it stands: a change makes it another. */
function once<T>(work: (recorder: ImportedRecorder) => T): (recorder: ImportedRecorder) => T {
  const known = new WeakMap<ImportedRecorder, T>();
  return recorder => {
    const found = known.get(recorder) ?? work(recorder);
    known.set(recorder, found);
    return found;
  };
}

export interface PlacedMarks {
  readonly marks: Marks;
  readonly by: string;
}

/** A list of its own comes before annotations; null when neither has any. */
export function placedMarks(recorder: ImportedRecorder): PlacedMarks | null {
  if (recorder.marks) return { marks: recorder.marks.list.marks, by: recorder.marks.fileName };
  const { marks } = ownOf(recorder);
  return marks && { marks, by: recorder.opened.recording.recorder };
}

export function segmentsOf(recorder: ImportedRecorder): readonly Segment[] {
  return distinctOf(recorder).segments;
}

const distinctOf = once((recorder: ImportedRecorder) => {
  const all = [...recorder.segments.flatMap(s => s.list.segments), ...ownOf(recorder).segments];
  return distinctSegments(withoutRepeats(all.sort((a, b) => a.start - b.start || a.end - b.end)));
});

/** A list and annotations often tell the same protocol; times in decimals may round to neighbouring samples. */
function withoutRepeats(segments: readonly Segment[]): Segment[] {
  const met = new Map<string, Set<string>>();
  return segments.filter(({ name, start, end }) => {
    const places = met.get(name) ?? new Set();
    const repeats = nearby.some(([a, b]) => places.has(`${start + a} ${end + b}`));
    places.add(`${start} ${end}`);
    met.set(name, places);
    return !repeats;
  });
}

/** One sample off at either end. */
const nearby = [-1, 0, 1].flatMap(a => [-1, 0, 1].map(b => [a, b] as const));

/** Everything the person should read before confirming, by kind. */
export function notesOf(recorder: ImportedRecorder) {
  const { opened, marks, segments, uses } = recorder;
  const { leads } = opened.recording;
  const lead = leads.length > 1 ? [leadInWords(recorder.lead, leads)] : [];
  // Once a person has said what labels are, the question is answered.
  const asked = (text: string) => uses.size > 0 && /say which labels are beats\.$/.test(text);
  const lists = [...(marks ? [marks.list] : []), ...segments.map(s => s.list)];
  return {
    understood: [
      ...lead,
      ...opened.understood.filter(s => !/^\d+ annotations "/.test(s)),
      ...lists.flatMap(l => l.understood),
    ],
    warnings: [
      ...new Set([
        ...(recorder.lead.sure ? [] : lead),
        ...fitOf(recorder),
        ...opened.warnings.filter(text => !asked(text)),
        ...lists.flatMap(l => l.warnings),
        ...ownOf(recorder).warnings,
        ...distinctOf(recorder).renamed,
      ]),
    ],
    dropped: [...opened.dropped, ...lists.flatMap(l => l.dropped)],
  };
}

/** What to say where the marks of the files do not lie on the beats that the detector finds. */
const fitOf = once((recorder: ImportedRecorder): readonly string[] => {
  const { beats, opened } = recorder;
  const placed = placedMarks(recorder);
  if (!beats || !placed) return [];
  const { samplingRateHz } = opened.recording;
  const marks = between(placed.marks, beats.within.start, beats.within.end).subarray(0, 2000);
  const fit = fitMarks(marks, beats.samples, samplingRateHz);
  const doubt = fit && fitDoubt(fit, samplingRateHz);
  return doubt === null ? [] : [doubt];
});

function originOf(recorder: ImportedRecorder): Origin {
  const notes = notesOf(recorder);
  const format = /\(([^()]*)\)$/.exec(recorder.opened.recording.source)?.[1] ?? '';
  return {
    format: format.slice(0, 100),
    fileSha256: recorder.fileSha256,
    signalSha256: recorder.lead.signalSha256,
    doubts: kept([...recorder.accepted, ...notes.warnings]),
    leftOut: kept(notes.dropped),
  };
}

const kept = (texts: readonly string[]) => [...new Set(texts)].slice(0, 1000).map(text => text.slice(0, 2000));

function recordingOf(recorder: ImportedRecorder): SessionRecording {
  const { patient } = recorder.opened;
  const recording = { ...recorder.opened.recording, origin: originOf(recorder) };
  const placed = placedMarks(recorder);
  return {
    recording: patient === null ? recording : { ...recording, source: `${recording.source}, patient: ${patient}` },
    detected: placed?.marks ?? marksFrom(recorder.builtIn?.samples ?? []),
    detectedBy: placed?.by ?? detectorName,
    segments: segmentsOf(recorder),
  };
}

export function sessionOf(
  fields: { readonly id: string; readonly title: string; readonly participant: string },
  recorders: readonly ImportedRecorder[],
): Session {
  return { ...fields, recordings: recorders.map(recordingOf), settings: defaultMatchSettings };
}

/** Said when recorders of one session differ in length by more than a tenth: probably files of different visits. */
export function lengthNote(recorders: readonly ImportedRecorder[]): string | null {
  const lengths = recorders.map(r => durationSeconds(r.opened.recording));
  const [short, long] = [Math.min(...lengths), Math.max(...lengths)];
  if (recorders.length < 2 || long <= short * 1.1) return null;
  return 'The recorders differ much in length: check that the files are of one visit.';
}
