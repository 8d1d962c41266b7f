import type { RecordingReview } from '../../core/marks/edit';
import { covers } from '../../core/marks/spans';
import type { EdgeGrading } from '../../core/review/practice/edges';
import {
  type Answer,
  type AnswerKey,
  type FalseAlarm,
  type Grade,
  type PlaceGrade,
  pointsFor,
} from '../../core/review/practice/practice';
import type { SessionRecording } from '../../core/review/session';
import { segmentsUnderReview } from '../../core/review/standing/coverage';
import type { KeyPlace, TellingFeature } from '../../core/simulate/lesson-key';
import { type SampleIndex, type Span, span } from '../../core/units';

/** One place of the walk after a lesson: what stood there, what the learner made of it, and what gives it away. */
export interface FeedbackItem {
  readonly at: SampleIndex;
  readonly span: Span;
  /** In words: 'missed peak', 'early beat', ... */
  readonly what: string;
  readonly outcome: PlaceOutcome;
  readonly sentences: readonly string[];
  readonly segment: string | null;
  readonly feature: TellingFeature;
  /** Where the R peak is and where the detector had put its mark, as far as the place has them. */
  readonly beat: SampleIndex | null;
  readonly mark: SampleIndex | null;
}

export type PlaceOutcome = Answer | 'false alarm' | 'rightly left alone' | 'called unreadable';

export const mistakeWords: Readonly<Record<KeyPlace['kind'], string>> = {
  missed: 'missed peak',
  wrongPeak: 'wrong peak',
  shifted: 'mark beside the peak',
  extra: 'extra mark',
  unreadable: 'unreadable stretch',
  ectopic: 'early beat',
};

/** Every place of the lesson and every false alarm, in the order of time. */
export function feedbackItems(
  item: SessionRecording,
  key: AnswerKey,
  review: RecordingReview,
  grade: Grade,
  edges: EdgeGrading,
): FeedbackItem[] {
  const ectopics = key.places.filter(p => p.kind === 'ectopic');
  const reported = new Set(ectopics.map(p => p.beat));
  return [
    ...grade.answers.map(a => placeItem(a, edges)),
    ...ectopics.map(p => ectopicItem(item, p, review, grade.falseAlarms)),
    ...grade.falseAlarms.filter(a => !reported.has(a.at)).map(a => alarmItem(item, a)),
  ].sort((a, b) => a.span.start - b.span.start || a.at - b.at);
}

function placeItem({ place, segment, answer: outcome, overlap, points }: PlaceGrade, edges: EdgeGrading): FeedbackItem {
  const { beat, mark, feature, sentence } = place;
  const sentences = [sentence];
  if (overlap !== null && outcome !== 'overlooked') {
    const worth = edges === 'overlap' ? `, which is ${points} of ${pointsFor.found} points` : '';
    sentences.push(
      `Your stretch overlaps this one by ${Math.round(100 * overlap)} %${worth}; it may reach to the beats on both sides.`,
    );
  }
  if (outcome === 'wrongly placed') sentences.push('You noticed it, but what stands there now is not right either.');
  const at = beat ?? mark ?? place.span.start;
  return { at, span: place.span, what: mistakeWords[place.kind], outcome, sentences, segment, feature, beat, mark };
}

function ectopicItem(
  item: SessionRecording,
  place: KeyPlace,
  review: RecordingReview,
  alarms: readonly FalseAlarm[],
): FeedbackItem {
  const { beat, feature, sentence } = place;
  const at = beat ?? place.span.start;
  const alarm = alarms.find(a => a.ectopic && a.at === at);
  const hidden = covers(review.unreadable, at);
  return {
    at,
    span: place.span,
    what: mistakeWords.ectopic,
    outcome: alarm ? 'false alarm' : hidden ? 'called unreadable' : 'rightly left alone',
    sentences: alarm ? [sentence, alarmWords[alarm.kind]] : [sentence],
    segment: segmentAt(item, at),
    feature,
    beat,
    mark: null,
  };
}

const alarmWords: Readonly<Record<FalseAlarm['kind'], string>> = {
  removed: 'You removed its mark, which was right.',
  moved: 'You moved its mark away from the peak, where it was right.',
  inserted: 'You placed a mark where there is no beat.',
  unreadable: 'You called this unreadable, but the beats can be made out.',
};

function alarmItem(item: SessionRecording, { kind, at, segment }: FalseAlarm): FeedbackItem {
  const { samplingRateHz, sampleCount } = item.recording;
  const reach = Math.round(samplingRateHz * 0.4);
  const isBeat = kind === 'removed' || kind === 'moved';
  return {
    at,
    span: span(Math.max(0, at - reach), Math.min(sampleCount, at + reach)),
    what: isBeat ? 'right mark' : kind === 'inserted' ? 'no beat' : 'readable stretch',
    outcome: 'false alarm',
    sentences: [isBeat ? `The QRS here is a beat. ${alarmWords[kind]}` : alarmWords[kind]],
    segment,
    feature: 'shape',
    beat: isBeat ? at : null,
    mark: null,
  };
}

function segmentAt(item: SessionRecording, at: number): string | null {
  return segmentsUnderReview(item).find(s => at >= s.start && at < s.end)?.name ?? null;
}
