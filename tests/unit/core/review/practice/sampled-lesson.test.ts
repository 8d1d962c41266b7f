import { beforeAll, describe, expect, test } from 'vitest';
import { apply, type RecordingReview, startReview } from '../../../../../src/core/marks/edit';
import { between, marksFrom } from '../../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import { isRefusal } from '../../../../../src/core/review/edits';
import { gradeReview, pointsFor } from '../../../../../src/core/review/practice/practice';
import { type PracticeLesson, simulatedLesson } from '../../../../../src/core/review/practice/practice-lesson';
import { holdsTruth, shownTruth } from '../../../../../src/core/review/practice/shown-truth';
import { drawsOf, layOutPlan, planReview, takeStretches } from '../../../../../src/core/review/standing/sampled';
import { scoreRecording } from '../../../../../src/core/score/score';

// Source: the mistakes that the simulation planted. One lesson of two hours, made once.

let lesson: PracticeLesson;
let planned: RecordingReview;

beforeAll(() => {
  lesson = simulatedLesson({ id: 'sampled-review', seed: 'unit', difficulty: 2 });
  planned = written(startReview(lesson.item.detected), r =>
    planReview({ item: lesson.item, review: r, finished: false }, lesson.sample!),
  );
});

function written(review: RecordingReview, build: (r: RecordingReview) => ReturnType<typeof planReview>) {
  const change = build(review);
  if (change === null || isRefusal(change)) throw new Error(change?.refused ?? 'nothing to write');
  return apply(review, change);
}

/** Reviews so many stretches; the marks in them and around become those of `eye`. */
function reviewed(stretches: number, eye: (beats: Int32Array) => Int32Array): RecordingReview {
  const { item, key } = lesson;
  const laidOut = layOutPlan(item, lesson.sample!)!;
  const { next } = drawsOf(item, planned, laidOut, stretches);
  let review = planned;
  for (const i of next) {
    const { start, end } = laidOut.stretches[i]!;
    const [from, to] = [start - 256, end + 256];
    const right = eye(between(key.beats, from, to));
    const marks = [...review.marks].filter(m => m < from || m >= to);
    review = { ...review, marks: marksFrom([...marks, ...right]) };
    review = written(review, r => takeStretches({ item, review: r, finished: false }, laidOut, [i], 'reviewed'));
  }
  return review;
}

const all = (beats: Int32Array) => beats;

describe('a lesson on a sample of two hours', () => {
  test('is two hours with the mistakes it says, in one segment, whose stretches all weigh the same', () => {
    const { item, key, sample } = lesson;
    expect(item.recording.sampleCount / item.recording.samplingRateHz).toBe(7200);
    expect(item.segments).toHaveLength(1);
    const { samplingRateHz, gaps } = item.recording;
    const input = { beats: key.beats, marks: item.detected, unreadable: key.unreadable, gaps, samplingRateHz };
    const { counts } = scoreRecording({ ...input, segments: item.segments, settings: defaultMatchSettings }).total;
    const planted = (kind: string) => key.places.filter(p => p.kind === kind).length;
    expect(counts).toMatchObject({
      missed: planted('missed'),
      wrongPeak: planted('wrongPeak'),
      extra: planted('extra'),
    });
    expect(sample!.classes).toHaveLength(1440);
    expect(new Set(sample!.classes.map(h => sample!.weights[h]))).toEqual(new Set([1]));
  });

  test('tells a learner who stops by the interval the truth, which it holds', () => {
    const review = reviewed(220, all);
    const { truth, own, faultless } = shownTruth(lesson, review)!;
    expect(own).toEqual(faultless);
    expect(own).toMatchObject({ drawn: 220, wantedPoints: 2, reached: true });
    expect(truth.value).toBeGreaterThan(93);
    expect(truth.value).toBeLessThan(99.5);
    expect(holdsTruth(own, truth)).toBe(true);
    const { summary } = gradeReview(lesson.item, lesson.key, review, defaultMatchSettings);
    expect(summary.planted).toBeGreaterThan(0);
    expect(summary.planted).toBeLessThan(lesson.key.places.length / 2);
    expect(summary).toMatchObject({ found: summary.planted, overlooked: 0, falseAlarms: 0 });
    expect(summary.maxPoints).toBe(10 * summary.planted + pointsFor.narrow);
    expect(summary.points).toBe(summary.maxPoints);
  });

  test('tells a learner who overlooks all that the same stretches hold it', () => {
    const { item, key } = lesson;
    const laidOut = layOutPlan(item, lesson.sample!)!;
    const { next } = drawsOf(item, planned, laidOut, 220);
    const review = written(planned, r =>
      takeStretches({ item, review: r, finished: false }, laidOut, next, 'reviewed'),
    );
    const told = shownTruth(lesson, review)!;
    expect(told.own.quality.value).toBe(100);
    expect(holdsTruth(told.faultless, told.truth)).toBe(true);
    expect(told.faultless.quality.value).toBeLessThan(100);
    const { summary } = gradeReview(item, key, review, defaultMatchSettings);
    expect(summary).toMatchObject({ found: 0, overlooked: summary.planted });
  });

  test('gives few points to one who stops at once', () => {
    const { summary } = gradeReview(lesson.item, lesson.key, reviewed(3, all), defaultMatchSettings);
    expect(summary.points / summary.maxPoints).toBeLessThan(0.75);
    expect(shownTruth(lesson, startReview(lesson.item.detected))).toBeNull();
  });
});
