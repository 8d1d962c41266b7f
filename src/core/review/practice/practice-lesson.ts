import type { RecordingReview } from '../../marks/edit';
import { lowerBound, type Marks } from '../../marks/markset';
import { defaultMatchSettings, type MatchSettings, outside } from '../../marks/match';
import type { SamplePlan } from '../../marks/sampling';
import { union } from '../../marks/spans';
import { Verdict, verdicts } from '../../marks/verdicts';
import { randomFrom } from '../../random';
import { planSample } from '../../sample/plan';
import type { KeyPlace } from '../../simulate/lesson-key';
import { type Difficulty, type Lesson, makeLesson } from '../../simulate/lessons';
import type { SampleIndex, Span } from '../../units';
import type { Session, SessionRecording } from '../session';
import type { AnswerKey } from './practice';

/** What a lesson is known by; a teacher gives these three to a class. */
export interface LessonName {
  readonly id: string;
  readonly seed: string;
  readonly difficulty: Difficulty;
}

/** A lesson to review as in the real job, with its answers. */
export interface PracticeLesson {
  readonly name: LessonName;
  readonly session: Session;
  readonly item: SessionRecording;
  readonly key: AnswerKey;
  /** Which stretches of it are reviewed; null for a lesson that is reviewed in full. */
  readonly sample: SamplePlan | null;
}

/** The simulated lesson of that name, the same everywhere. Throws a RangeError for an unknown id. */
export function simulatedLesson(name: LessonName): PracticeLesson {
  return practiceLesson(makeLesson(name.id, name.seed, name.difficulty));
}

/** A simulated lesson as one to review. */
export function practiceLesson(lesson: Lesson): PracticeLesson {
  const { kind, seed, difficulty, key, recording, detected, detectedBy, segments } = lesson;
  const name = { id: kind.id, seed, difficulty };
  const item = { recording, detected, detectedBy, segments };
  return {
    name,
    item,
    key,
    session: sessionOf(name, kind.title, item),
    sample: kind.sampled ? sampleOf(lesson) : null,
  };
}

/** An interval this narrow takes a learner a quarter of an hour. */
const lessonHalfWidth = 0.02;

/** The same stretches for all learners of a lesson, none likelier than another: nothing in a lesson is suspicious. */
function sampleOf({ seed, difficulty, segments, recording, detected }: Lesson): SamplePlan {
  const plan = planSample({
    segment: segments[0]!.name,
    seed: randomFrom(`lesson sample ${seed}/${difficulty}`).uint32() >>> 1,
    stretchSeconds: 5,
    contextSeconds: 2,
    halfWidth: lessonHalfWidth,
    segments,
    samplingRateHz: recording.samplingRateHz,
    detected,
    second: null,
    suspected: [],
  });
  return { ...plan, classes: plan.classes.map(() => plan.weights.length - 1) };
}

/** A lesson made from a reviewed recording: the review is the answer, what it changed are the mistakes to find. */
export function lessonFromReview(session: Session, item: SessionRecording, review: RecordingReview): PracticeLesson {
  const name: LessonName = { id: `from-${session.id}-${item.recording.id}`, seed: '', difficulty: 3 };
  const lesson = sessionOf(name, `From ${session.title}, ${item.recording.recorder}`, item);
  return {
    name,
    item,
    session: { ...lesson, settings: session.settings },
    sample: null,
    key: keyFromReview(item, review, session.settings),
  };
}

/** Id of the session that a lesson is kept under. */
export function lessonSessionId({ id, difficulty, seed }: LessonName): string {
  const parts = ['lesson', id, String(difficulty), seed].filter(part => part !== '');
  return parts.join('-').replace(/[^A-Za-z0-9-]/g, '-');
}

function sessionOf(name: LessonName, title: string, item: SessionRecording): Session {
  return {
    id: lessonSessionId(name),
    title,
    participant: 'V00',
    recordings: [item],
    settings: defaultMatchSettings,
  };
}

export function keyFromReview(item: SessionRecording, review: RecordingReview, settings: MatchSettings): AnswerKey {
  const { detected, recording } = item;
  const excluded = union(review.unreadable, recording.gaps);
  const { ofDetected, ofReviewed, reviewedOf } = verdicts(
    detected,
    review.marks,
    excluded,
    recording.samplingRateHz,
    settings,
  );
  const places: KeyPlace[] = review.unreadable.map(span => place('unreadable', null, null, span));
  for (const [j, mark] of detected.entries()) {
    const beat = review.marks[reviewedOf[j]!] ?? null;
    if (ofDetected[j] === Verdict.removed) places.push(place('extra', null, mark, around(detected, mark, mark)));
    if (ofDetected[j] === Verdict.moved && beat !== null) {
      const [from, to] = [Math.min(beat, mark), Math.max(beat, mark)];
      places.push(place('wrongPeak', beat, mark, around(detected, from, to)));
    }
  }
  for (const [i, beat] of review.marks.entries()) {
    if (ofReviewed[i] === Verdict.inserted) places.push(place('missed', beat, null, around(detected, beat, beat)));
  }
  places.sort((a, b) => a.span.start - b.span.start || a.span.end - b.span.end);
  return { beats: outside(review.marks, excluded), unreadable: review.unreadable, places };
}

/** What holds of every such place of a real review, whatever the rhythm around it. */
const telling = {
  missed: ['interval', 'A QRS here has no mark: two intervals look like one.'],
  wrongPeak: ['shape', 'The mark sits beside its QRS: one interval looks longer than it is, the next shorter.'],
  extra: ['interval', 'The mark has no QRS: it cuts one interval in two.'],
  unreadable: ['noise', 'The beats cannot be made out here.'],
} as const;

function place(kind: keyof typeof telling, beat: number | null, mark: number | null, span: Span): KeyPlace {
  const [feature, sentence] = telling[kind];
  return { kind, beat: beat as SampleIndex | null, mark: mark as SampleIndex | null, span, feature, sentence };
}

/** From the detected mark before `from` to the one after `to`. */
function around(detected: Marks, from: number, to: number): Span {
  const start = detected[lowerBound(detected, from) - 1] ?? from;
  const end = (detected[lowerBound(detected, to + 1)] ?? to) + 1;
  return { start: start as SampleIndex, end: end as SampleIndex };
}
