import type { Change, RecordingReview } from '../../marks/edit';
import { between, has, lowerBound } from '../../marks/markset';
import { BeatOutcome, type Matching, type MatchSettings, match } from '../../marks/match';
import { covers, subtract, union } from '../../marks/spans';
import type { SampledNumber } from '../../sample/number';
import type { Computed } from '../../score/result';
import type { KeyPlace, LessonKey } from '../../simulate/lesson-key';
import type { SampleIndex, Span } from '../../units';
import type { SessionRecording } from '../session';
import { segmentsUnderReview } from '../standing/coverage';
import { sampledReviews } from '../standing/sampled';
import { scoreReview } from '../standing/score-review';
import { type EdgeGrading, edgeAnswer, edgeOverlap } from './edges';

/** Grading a learner's review against the known answers. End states count, not key presses. */

/** The right answers: beats, unreadable stretches and the places worth a word; ectopic places are no mistakes. */
export type AnswerKey = Pick<LessonKey, 'beats' | 'unreadable' | 'places'>;
export type PracticeKind = Exclude<KeyPlace['kind'], 'ectopic'>;

/** `wrongly placed`: noticed, but what stands there now is not right either. */
export type Answer = 'found' | 'overlooked' | 'wrongly placed';

export interface PlaceGrade {
  readonly place: KeyPlace & { readonly kind: PracticeKind };
  readonly segment: string | null;
  readonly answer: Answer;
  /** Of an unreadable stretch: how well its edges were met, 0 to 1. */
  readonly overlap: number | null;
  readonly points: number;
}

/** Something right that the learner made wrong. `at`: the beat, the mark, or the start of the stretch. */
export interface FalseAlarm {
  readonly kind: 'removed' | 'moved' | 'inserted' | 'unreadable';
  readonly at: SampleIndex;
  readonly segment: string | null;
  /** The beat is ectopic: unusual, and rightly marked. */
  readonly ectopic: boolean;
}

export interface KindCounts {
  readonly planted: number;
  readonly found: number;
  readonly overlooked: number;
  readonly wronglyPlaced: number;
}

/** Points: what each outcome is worth. */
export const pointsFor = { found: 10, wronglyPlaced: 3, falseAlarm: -4, hint: -3, narrow: 20 } as const;

export interface GradeSummary extends KindCounts {
  readonly falseAlarms: number;
  readonly hints: number;
  /** Never below 0. */
  readonly points: number;
  /** 10 a planted mistake; 10 for a lesson without any, earned by leaving it alone. */
  readonly maxPoints: number;
  /**
   * Mean overlap of the unreadable stretches that were asked for, 0 to 1, to three decimals; null without any. Not there
   * where edges were graded by half.
   */
  readonly edgeOverlap?: number | null;
  readonly byKind: Readonly<Partial<Record<PracticeKind, KindCounts>>>;
  readonly bySegment: readonly (KindCounts & { readonly segment: string; readonly falseAlarms: number })[];
}

export interface Grade {
  readonly answers: readonly PlaceGrade[];
  readonly falseAlarms: readonly FalseAlarm[];
  readonly summary: GradeSummary;
}

interface Marking {
  readonly item: SessionRecording;
  readonly key: AnswerKey;
  readonly review: RecordingReview;
  readonly settings: MatchSettings;
  readonly edges: EdgeGrading;
  /** The learner's marks against the true beats, and the marks as they came. */
  readonly now: Matching;
  readonly then: Matching;
  /** Stretches the learner called unreadable though they are not. */
  readonly hidden: readonly Span[];
}

/**
 * Grades one review.
 * - A missed beat is found when it has a mark on its peak; a mark elsewhere within the wrong-peak window is wrongly placed.
 * - A wrong or shifted mark is found when its beat is on the peak and the mark is gone; one of the two is wrongly placed.
 * - An extra mark is found when it is gone; moved to where there is no beat either, it is wrongly placed.
 * - An unreadable stretch is found when its edges overlap by half or more (see edges.ts); less is wrongly placed. Its points
 *   are as many of those for a place found as it overlaps, and never fewer than for one wrongly placed.
 * A beat that the learner wrongly called unreadable counts as having no mark.
 * In a lesson that is sampled only the places in stretches that were reviewed count, and going on until the interval is
 * as narrow as wanted counts as well.
 */
export function gradeReview(
  item: SessionRecording,
  key: AnswerKey,
  review: RecordingReview,
  settings: MatchSettings,
  edges: EdgeGrading = 'overlap',
): Grade {
  const excluded = union(key.unreadable, item.recording.gaps);
  const matched = (marks: Int32Array) => match(key.beats, marks, excluded, item.recording.samplingRateHz, settings);
  const hidden = subtract(review.unreadable, excluded);
  const now = matched(review.marks);
  const then = matched(item.detected);
  const marking: Marking = { item, key, review, settings, edges, now, then, hidden };
  const strays = strayMarks(marking);
  const stop = stopOf(item, review, settings);
  const answers = key.places
    .filter((p): p is PlaceGrade['place'] => p.kind !== 'ectopic' && (stop === null || wasReviewed(review, p)))
    .map(place => {
      const at = place.beat ?? place.mark ?? place.span.start;
      const overlap = place.kind === 'unreadable' ? edgeOverlap(key.beats, review.unreadable, place.span) : null;
      const answer = answerTo(marking, place, overlap, strays);
      return { place, segment: segmentAt(item, at), answer, overlap, points: pointsOf(answer, overlap, edges) };
    });
  const falseAlarms = [...disturbedBeats(marking), ...strayAlarms(marking, strays), ...hiddenAlarms(marking)].sort(
    (a, b) => a.at - b.at,
  );
  return { answers, falseAlarms, summary: summarise(item, answers, falseAlarms, review, stop, edges) };
}

/** Where a sampled review was stopped; null for one in full. */
function stopOf(item: SessionRecording, review: RecordingReview, settings: MatchSettings): SampledNumber | null {
  if (review.samplePlans.length === 0) return null;
  return sampledReviews(item, review, scoreReview(item, review, settings))[0]?.whole ?? null;
}

function wasReviewed({ sampled }: RecordingReview, { beat, mark, span }: KeyPlace): boolean {
  const at = beat ?? mark ?? span.start;
  return sampled.some(e => e.outcome === 'reviewed' && at >= e.start && at < e.end);
}

/** Marks the learner placed where there is no beat. An answer that accounts for one takes it out. */
function strayMarks({ item, now, hidden }: Marking): Set<number> {
  const stray = now.marks.filter((m, j) => now.beatOfMark[j] === -1 && !has(item.detected, m) && !covers(hidden, m));
  return new Set(stray);
}

function answerTo(m: Marking, place: PlaceGrade['place'], overlap: number | null, strays: Set<number>): Answer {
  const isOnPeak = place.beat !== null && outcomeOf(m, place.beat) === BeatOutcome.onPeak;
  const markStands = place.mark !== null && has(m.review.marks, place.mark);
  switch (place.kind) {
    case 'missed':
      if (isOnPeak) return 'found';
      return outcomeOf(m, place.beat!) === BeatOutcome.wrongPeak && partnerIsPlaced(m, place.beat!)
        ? 'wrongly placed'
        : 'overlooked';
    case 'wrongPeak':
    case 'shifted':
      if (isOnPeak) return markStands ? 'wrongly placed' : 'found';
      return markStands || covers(m.hidden, place.beat!) ? 'overlooked' : 'wrongly placed';
    case 'extra':
      if (markStands) return 'overlooked';
      return takeStray(m, place.mark!, strays) ? 'wrongly placed' : 'found';
    case 'unreadable':
      return edgeAnswer(m.edges, overlap ?? 0, m.review.unreadable, place.span);
  }
}

function pointsOf(answer: Answer, overlap: number | null, edges: EdgeGrading): number {
  if (answer === 'overlooked') return 0;
  if (overlap === null || edges === 'half') return answer === 'found' ? pointsFor.found : pointsFor.wronglyPlaced;
  return Math.max(pointsFor.wronglyPlaced, Math.round(pointsFor.found * overlap));
}

function outcomeOf({ now, hidden }: Marking, beat: number): BeatOutcome {
  const k = lowerBound(now.beats, beat);
  if (now.beats[k] !== beat || covers(hidden, beat)) return BeatOutcome.missed;
  return now.outcome[k]!;
}

function partnerIsPlaced({ item, now }: Marking, beat: number): boolean {
  const mark = now.marks[now.markOfBeat[lowerBound(now.beats, beat)]!];
  return mark !== undefined && !has(item.detected, mark);
}

function takeStray({ item, settings }: Marking, from: number, strays: Set<number>): boolean {
  const reach = (settings.wrongPeakWindowMs * item.recording.samplingRateHz) / 1000;
  const near = [...strays].filter(s => Math.abs(s - from) <= reach);
  if (near.length === 0) return false;
  strays.delete(near.reduce((best, s) => (Math.abs(s - from) < Math.abs(best - from) ? s : best)));
  return true;
}

/** Beats that were rightly marked and are not any more. */
function disturbedBeats(m: Marking): FalseAlarm[] {
  const { now, then, hidden } = m;
  const out: FalseAlarm[] = [];
  for (let k = 0; k < now.beats.length; k++) {
    const beat = now.beats[k]!;
    if (then.outcome[k] !== BeatOutcome.onPeak || now.outcome[k] === BeatOutcome.onPeak || covers(hidden, beat))
      continue;
    out.push(alarm(m, now.outcome[k] === BeatOutcome.wrongPeak ? 'moved' : 'removed', beat));
  }
  return out;
}

function strayAlarms(m: Marking, strays: ReadonlySet<number>): FalseAlarm[] {
  return [...strays].map(s => alarm(m, 'inserted', s));
}

/** A wrongly hidden stretch counts once, when it holds a beat; beside a truly unreadable one a single beat is forgiven. */
function hiddenAlarms(m: Marking): FalseAlarm[] {
  const borders = new Set(union(m.key.unreadable, m.item.recording.gaps).flatMap(s => [s.start, s.end]));
  return m.hidden.flatMap(s => {
    const beats = between(m.now.beats, s.start, s.end).length;
    const forgiven = borders.has(s.start) || borders.has(s.end) ? 1 : 0;
    return beats > forgiven ? [alarm(m, 'unreadable', s.start)] : [];
  });
}

function alarm({ item, key }: Marking, kind: FalseAlarm['kind'], at: number): FalseAlarm {
  const ectopic = kind !== 'unreadable' && key.places.some(p => p.kind === 'ectopic' && p.beat === at);
  return { kind, at: at as SampleIndex, segment: segmentAt(item, at), ectopic };
}

function segmentAt(item: SessionRecording, at: number): string | null {
  return segmentsUnderReview(item).find(s => at >= s.start && at < s.end)?.name ?? null;
}

function tally(answers: readonly PlaceGrade[]): KindCounts {
  const count = (answer: Answer) => answers.filter(a => a.answer === answer).length;
  return {
    planted: answers.length,
    found: count('found'),
    overlooked: count('overlooked'),
    wronglyPlaced: count('wrongly placed'),
  };
}

function summarise(
  item: SessionRecording,
  answers: readonly PlaceGrade[],
  alarms: readonly FalseAlarm[],
  review: RecordingReview,
  stop: SampledNumber | null,
  edges: EdgeGrading,
): GradeSummary {
  const all = tally(answers);
  const kinds = [...new Set(answers.map(a => a.place.kind))].sort();
  const earned = all.planted > 0 ? answers.reduce((sum, a) => sum + a.points, 0) : pointsFor.found;
  const lost = alarms.length * pointsFor.falseAlarm + hintPoints(review);
  return {
    ...all,
    falseAlarms: alarms.length,
    hints: hintsTaken(review),
    points: Math.max(0, earned + lost + (stop?.reached ? pointsFor.narrow : 0)),
    maxPoints: pointsFor.found * Math.max(1, all.planted) + (stop ? pointsFor.narrow : 0),
    ...(edges === 'overlap' ? { edgeOverlap: meanOverlap(answers) } : {}),
    byKind: Object.fromEntries(kinds.map(kind => [kind, tally(answers.filter(a => a.place.kind === kind))])),
    bySegment: segmentsUnderReview(item).map(({ name }) => ({
      segment: name,
      ...tally(answers.filter(a => a.segment === name)),
      falseAlarms: alarms.filter(a => a.segment === name).length,
    })),
  };
}

function meanOverlap(answers: readonly PlaceGrade[]): number | null {
  const own = answers.flatMap(a => a.overlap ?? []);
  if (own.length === 0) return null;
  return Math.round((1000 * own.reduce((sum, o) => sum + o, 0)) / own.length) / 1000;
}

/** A hint goes from the stretch to the place to what gives it away. */
export const hintSteps = 3;
const pointsPerStep = pointsFor.hint / hintSteps;
export type HintStep = 0 | 1 | 2 | 3;

/**
 * Takes the next step of the hint on a place; null after the last. Log it with the intent 'hint': undo passes over it, so
 * a step once taken stays paid for.
 */
export function hintChange(review: RecordingReview, place: KeyPlace): Change | null {
  const step = hintStep(review, place);
  const at = place.span.start;
  if (step === 0) return [{ op: 'hint', before: null, after: { at, step: 1 } }];
  if (step === hintSteps) return null;
  return [{ op: 'hint', before: { at, step }, after: { at, step: step === 1 ? 2 : 3 } }];
}

/** Places on which a hint was taken. */
export function hintsTaken(review: RecordingReview): number {
  return review.hints.length;
}

/** What the hints cost so far, 0 or less. */
export function hintPoints(review: RecordingReview): number {
  return review.hints.reduce((sum, h) => sum + (h.step ?? hintSteps), 0) * pointsPerStep;
}

/** How far the hint on a place went; 0 for none. */
export function hintStep(review: RecordingReview, place: KeyPlace): HintStep {
  const hint = review.hints.find(h => h.at === place.span.start);
  return hint ? (hint.step ?? hintSteps) : 0;
}

/** Longest pause between two acts that still counts as working. */
const longestPauseSeconds = 120;

/** Seconds at work from the times of the log's entries (ISO 8601); pauses count for two minutes at most. */
export function secondsAtWork(times: readonly string[]): Computed {
  if (times.length < 2) return { value: null, reason: 'fewer than two acts' };
  let sum = 0;
  for (let i = 1; i < times.length; i++) {
    const pause = (Date.parse(times[i]!) - Date.parse(times[i - 1]!)) / 1000;
    if (Number.isNaN(pause)) return { value: null, reason: 'an act has no readable time' };
    sum += Math.min(longestPauseSeconds, Math.max(0, pause));
  }
  return { value: sum, n: times.length };
}
