import { describe, expect, test } from 'vitest';
import { apply, startReview } from '../../../../../src/core/marks/edit';
import { marksFrom } from '../../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import { type EdgeGrading, edgeOverlap } from '../../../../../src/core/review/practice/edges';
import {
  type AnswerKey,
  gradeReview,
  hintChange,
  hintPoints,
  hintsTaken,
  pointsFor,
  secondsAtWork,
} from '../../../../../src/core/review/practice/practice';
import { keyFromReview } from '../../../../../src/core/review/practice/practice-lesson';
import type { KeyPlace } from '../../../../../src/core/simulate/lesson-key';
import { sampleIndex, span } from '../../../../../src/core/units';
import { recordingWith } from '../sample-session';

/**
 * 30 true beats a second apart at 100 Hz from 0.5 s. Planted: 350 missed, 650 marked on its T wave at 680, 950 shifted to
 * 940, an extra mark at 1200, [1800, 2200) unreadable. The beat at 2550 is ectopic and rightly marked.
 */
const beats = Array.from({ length: 30 }, (_, i) => 50 + 100 * i);
const wrong = [350, 650, 950];
const item = recordingWith({
  detected: [...beats.filter(b => !wrong.includes(b)), 680, 940, 1200],
  sampleCount: 3000,
  segments: [
    ['first half', 0, 1500],
    ['second half', 1500, 3000],
  ],
});
const place = (kind: KeyPlace['kind'], beat: number | null, mark: number | null, at = beat ?? mark!): KeyPlace => ({
  kind,
  beat: beat === null ? null : sampleIndex(beat),
  mark: mark === null ? null : sampleIndex(mark),
  span: span(at - 50, at + 50),
  feature: 'interval',
  sentence: 'made for this test',
});
const key: AnswerKey = {
  beats: marksFrom(beats),
  unreadable: [span(1800, 2200)],
  places: [
    place('missed', 350, null),
    place('wrongPeak', 650, 680),
    place('shifted', 950, 940),
    place('extra', null, 1200),
    { ...place('unreadable', null, null, 2000), span: span(1800, 2200) },
    place('ectopic', 2550, 2550),
  ],
};

function grade(
  marks: readonly number[],
  unreadable: readonly [number, number][] = [],
  answers = key,
  edges: EdgeGrading = 'overlap',
) {
  const review = { ...startReview(marksFrom(marks)), unreadable: unreadable.map(([a, b]) => span(a, b)) };
  return gradeReview(item, answers, review, defaultMatchSettings, edges);
}

const without = (...taken: number[]) => [...item.detected].filter(m => !taken.includes(m));
const right = [...without(680, 940, 1200), ...wrong];
const answersOf = (g: ReturnType<typeof grade>) => g.answers.map(a => a.answer);
const alarmsOf = (g: ReturnType<typeof grade>) => g.falseAlarms.map(a => [a.kind, a.at]);

// source: planted truth; every outcome and point worked out by hand.
describe('grading', () => {
  test('a learner who finds nothing', () => {
    const g = grade([...item.detected]);
    expect(answersOf(g)).toEqual(Array(5).fill('overlooked'));
    expect(g.summary).toEqual({
      planted: 5,
      found: 0,
      overlooked: 5,
      wronglyPlaced: 0,
      falseAlarms: 0,
      hints: 0,
      points: 0,
      maxPoints: 50,
      edgeOverlap: 0,
      byKind: {
        missed: { planted: 1, found: 0, overlooked: 1, wronglyPlaced: 0 },
        wrongPeak: { planted: 1, found: 0, overlooked: 1, wronglyPlaced: 0 },
        shifted: { planted: 1, found: 0, overlooked: 1, wronglyPlaced: 0 },
        extra: { planted: 1, found: 0, overlooked: 1, wronglyPlaced: 0 },
        unreadable: { planted: 1, found: 0, overlooked: 1, wronglyPlaced: 0 },
      },
      bySegment: [
        { segment: 'first half', planted: 4, found: 0, overlooked: 4, wronglyPlaced: 0, falseAlarms: 0 },
        { segment: 'second half', planted: 1, found: 0, overlooked: 1, wronglyPlaced: 0, falseAlarms: 0 },
      ],
    });
  });

  test('a learner who finds everything', () => {
    const g = grade(right, [[1800, 2200]]);
    expect(answersOf(g)).toEqual(Array(5).fill('found'));
    expect(g.summary).toMatchObject({ found: 5, falseAlarms: 0, points: 50, maxPoints: 50 });
  });

  test('a learner who marks everything: a mark every 0.1 s', () => {
    const every = Array.from({ length: 300 }, (_, i) => 10 * i);
    const g = grade([...new Set([...every, ...item.detected])], [[0, 0]]);
    // 350 and 950 get marks on their peak; 680, 940 and 1200 still stand.
    expect(answersOf(g)).toEqual(['found', 'wrongly placed', 'wrongly placed', 'overlooked', 'overlooked']);
    // 26 beats outside the unreadable stretch; every mark at a multiple of 0.1 s outside it (260), less the one at each of
    // 3 beats that had none (350, 650, 950) and less the three detected ones on that grid (680, 940, 1200).
    // Where a beat is at 50 + 100 i its own detected mark is on the grid too: 23 more.
    const inserted = g.falseAlarms.filter(a => a.kind === 'inserted').length;
    expect(inserted).toBe(260 - 3 - 3 - 23);
    expect(g.summary).toMatchObject({ found: 1, falseAlarms: inserted, points: 0 });
  });

  test('a learner who calls everything unreadable', () => {
    const g = grade([...item.detected], [[0, 3000]]);
    expect(answersOf(g)).toEqual(['overlooked', 'overlooked', 'overlooked', 'overlooked', 'wrongly placed']);
    expect(alarmsOf(g)).toEqual([
      ['unreadable', 0],
      ['unreadable', 2200],
    ]);
    // By half the stretch was found; by overlap, 400 of 2900 samples, it is not, and the false alarms cost more.
    expect(g.summary).toMatchObject({ points: 0, edgeOverlap: 0.138 });
    expect(grade([...item.detected], [[0, 3000]], key, 'half').summary.points).toBe(10 + 2 * pointsFor.falseAlarm);
  });

  test('a learner who deletes every mark', () => {
    const g = grade([]);
    expect(answersOf(g)).toEqual(['overlooked', 'wrongly placed', 'wrongly placed', 'found', 'overlooked']);
    expect(g.falseAlarms).toHaveLength(26 - 3);
    expect(g.falseAlarms.every(a => a.kind === 'removed')).toBe(true);
    expect(g.falseAlarms.filter(a => a.ectopic).map(a => a.at)).toEqual([2550]);
  });

  test('noticed but not put right is wrongly placed, and is not counted again as a false alarm', () => {
    const g = grade([...without(680, 940, 1200), 370, 665, 941, 1225], [[1800, 1950]]);
    expect(answersOf(g)).toEqual(Array(5).fill('wrongly placed'));
    expect(g.summary).toMatchObject({ wronglyPlaced: 5, falseAlarms: 0, points: 4 * pointsFor.wronglyPlaced + 4 });
    const kept = grade([...item.detected, 650]);
    expect(kept.answers[1]!.answer).toBe('wrongly placed'); // the T wave still has its mark
  });

  test('false alarms: removed, moved, inserted, hidden', () => {
    const g = grade(
      [...right.filter(m => m !== 150 && m !== 250), 270, 1300],
      [
        [1800, 2200],
        [2400, 2700],
      ],
    );
    expect(alarmsOf(g)).toEqual([
      ['removed', 150],
      ['moved', 250],
      ['inserted', 1300],
      ['unreadable', 2400],
    ]);
    expect(g.summary).toMatchObject({ found: 5, points: 50 - 16 });
    expect(g.summary.bySegment.map(s => s.falseAlarms)).toEqual([3, 1]);
  });

  test('an edge that takes one readable beat along is forgiven, two are not', () => {
    expect(grade(right, [[1720, 2200]]).falseAlarms).toEqual([]);
    expect(alarmsOf(grade(right, [[1620, 2200]]))).toEqual([['unreadable', 1620]]);
  });

  test('half of an unreadable stretch is enough, less is not', () => {
    expect(grade(right, [[1800, 2000]]).answers[4]!.answer).toBe('found');
    expect(grade(right, [[1800, 1999]]).answers[4]!.answer).toBe('wrongly placed');
  });

  test('an unreadable stretch is worth as many points as its edges overlap, with little more than half of it marked too', () => {
    const pointsOf = (own: [number, number][], edges?: EdgeGrading) => {
      const { answers, summary } = grade(right, own, key, edges);
      return [answers[4]!.answer, answers[4]!.points, summary.points, summary.edgeOverlap];
    };
    expect(pointsOf([[1800, 2200]])).toEqual(['found', 10, 50, 1]);
    expect(pointsOf([[1800, 2120]])).toEqual(['found', 8, 48, 0.8]);
    expect(pointsOf([[1800, 2000]])).toEqual(['found', 5, 45, 0.5]);
    expect(pointsOf([[1800, 1980]])).toEqual(['wrongly placed', 5, 45, 0.45]);
    expect(pointsOf([[1800, 1810]])).toEqual(['wrongly placed', 3, 43, 0.025]);
    expect(pointsOf([])).toEqual(['overlooked', 0, 40, 0]);
    // From the last beat before to the first one after is as good as the stretch itself.
    expect(pointsOf([[1750, 2250]])).toEqual(['found', 10, 50, 1]);
    // Far beyond: 400 samples past the next beat halve the overlap, and the beats hidden there are a false alarm.
    expect(pointsOf([[1800, 2650]])).toEqual(['found', 5, 41, 0.5]);
    // By half, as in results of version 3: the same marks, found or not.
    expect(pointsOf([[1800, 2000]], 'half')).toEqual(['found', 10, 50, undefined]);
    expect(pointsOf([[1800, 1980]], 'half')).toEqual(['wrongly placed', 3, 43, undefined]);
  });

  test('a mark centred within the tolerance is no false alarm', () => {
    expect(grade([...right.filter(m => m !== 150), 153], [[1800, 2200]]).summary.points).toBe(50);
  });

  test('a lesson without mistakes is worth 10 points for leaving it alone', () => {
    const clean: AnswerKey = { beats: marksFrom(item.detected), unreadable: [], places: [] };
    expect(grade([...item.detected], [], clean).summary).toMatchObject({ planted: 0, points: 10, maxPoints: 10 });
    expect(grade(without(50, 150), [], clean).summary.points).toBe(10 + 2 * pointsFor.falseAlarm);
  });

  test('the edges of an unreadable stretch are judged by overlap, up to the beats around it', () => {
    const overlap = (...own: [number, number][]) =>
      edgeOverlap(
        marksFrom([900, 2100]),
        own.map(([a, b]) => span(a, b)),
        span(1000, 2000),
      );
    expect(overlap([1000, 2000])).toBe(1);
    expect(overlap([900, 2100])).toBe(1);
    expect(overlap([1000, 1500])).toBe(0.5);
    expect(overlap([1000, 1200], [1700, 2000])).toBe(0.5);
    // 1000 samples beyond the next beat weigh as much as the stretch itself.
    expect(overlap([1000, 3100])).toBe(0.5);
    expect(overlap([2200, 2400])).toBe(0);
  });

  test('hints cost points, each once', () => {
    const review = startReview(marksFrom(right));
    let one = review;
    for (let step = 1; step <= 3; step++) {
      one = apply(one, hintChange(one, key.places[0]!)!);
      expect(hintPoints(one)).toBe((pointsFor.hint * step) / 3);
    }
    expect(hintChange(one, key.places[0]!)).toBeNull();
    const two = apply(one, hintChange(one, key.places[3]!)!);
    expect(hintsTaken(two)).toBe(2);
    const g = gradeReview(item, key, two, defaultMatchSettings);
    expect(g.summary).toMatchObject({ found: 4, hints: 2, points: 40 + pointsFor.hint + pointsFor.hint / 3 });
  });

  test('a hint of before there were steps costs what it cost then', () => {
    const at = key.places[0]!.span.start;
    const whole = apply(startReview(marksFrom(right)), [{ op: 'hint', before: null, after: { at } }]);
    expect(hintPoints(whole)).toBe(pointsFor.hint);
    expect(hintChange(whole, key.places[0]!)).toBeNull();
  });

  test('time at work counts a pause for two minutes at most', () => {
    const at = (s: number) => new Date(Date.UTC(2026, 1, 20, 9, 0, s)).toISOString();
    expect(secondsAtWork([at(0), at(10), at(40), at(3640)])).toEqual({ value: 160, n: 4 });
    expect(secondsAtWork([at(0)]).value).toBeNull();
    expect(secondsAtWork(['soon', at(1)]).value).toBeNull();
  });
});

describe('a lesson from a review', () => {
  test('what the review changed are the mistakes to find, and the review itself finds them all', () => {
    const review = { ...startReview(marksFrom(right)), unreadable: [span(1800, 2200)] };
    const made = keyFromReview(item, review, defaultMatchSettings);
    expect(made.places.map(p => [p.kind, p.beat, p.mark])).toEqual([
      ['missed', 350, null],
      ['wrongPeak', 650, 680],
      ['wrongPeak', 950, 940],
      ['extra', null, 1200],
      ['unreadable', null, null],
    ]);
    expect(gradeReview(item, made, review, defaultMatchSettings).summary).toMatchObject({ found: 5, points: 50 });
    expect(gradeReview(item, made, startReview(item.detected), defaultMatchSettings).summary).toMatchObject({
      overlooked: 5,
      falseAlarms: 0,
      points: 0,
    });
  });
});
