import { describe, expect, test } from 'vitest';
import { intervalCheck } from '../../../../src/core/hrv/interval-check';
import { nnSeriesOf } from '../../../../src/core/hrv/nn';
import type { RrOutlier } from '../../../../src/core/hrv/outliers';
import type { Note } from '../../../../src/core/marks/edit';
import { marksFrom, noMarks } from '../../../../src/core/marks/markset';
import { beatsIntervalsGiveAway, beatsRatersMarked, sinusCheck } from '../../../../src/core/report/non-sinus';
import { sampleIndex, span } from '../../../../src/core/units';

const note = (start: number, text: string, kind: Note['kind'] = 'comment'): Note => ({
  id: `n${start}`,
  kind,
  start: sampleIndex(start),
  end: sampleIndex(start),
  text,
});

describe('beats a rater calls not sinus', () => {
  const marks = marksFrom([100, 300, 500]);

  test('are those marked so, also when they were moved by up to 150 ms since', () => {
    const notSinus = marksFrom([302, 485, 516]);
    expect(beatsRatersMarked({ notSinus, notes: [], marks }, 100)).toEqual([300, 500]);
  });

  test('are those under a remark of an old log, and under no comment, whatever it says', () => {
    const notes = [
      note(302, 'Ectopic, wide', 'not sinus'),
      note(116, 'not sinus, but 160 ms away', 'not sinus'),
      note(500, 'Not sinus? maybe noise', 'comment'),
      note(500, 'ectopic', 'flag'),
    ];
    expect(beatsRatersMarked({ notSinus: noMarks, notes, marks }, 100)).toEqual([300]);
  });

  test('are none where there is no beat', () => {
    expect(beatsRatersMarked({ notSinus: marksFrom([5]), notes: [], marks: noMarks }, 100)).toEqual([]);
  });
});

describe('beats that intervals give away', () => {
  const ectopic = (...indices: number[]): RrOutlier[] =>
    indices.map(index => ({ index, kind: 'ectopic' }) as RrOutlier);
  const timesSeconds = Float64Array.from([1, 1.5, 2.7, 3.6, 4.5, 5.4]);

  test.each<[string, number[], RrOutlier[], number[]]>([
    ['the early beat of a short-long pair', [900, 500, 1200, 900], ectopic(1, 2), [150]],
    ['a late beat: every beat inside the run', [900, 1200, 600, 900], ectopic(1, 2), [150]],
    ['two runs', [500, 1200, 900, 500, 1200, 900], ectopic(0, 1, 3, 4), [100, 360]],
    ['nothing from one interval alone', [900, 500, 900], ectopic(1), []],
    ['nothing from other kinds', [900, 500, 1200], [{ index: 1, kind: 'short' } as RrOutlier], []],
  ])('%s', (_name, intervalsMs, outliers, beats) => {
    expect(
      beatsIntervalsGiveAway({ intervalsMs: Float64Array.from(intervalsMs), timesSeconds }, outliers, 100),
    ).toEqual(beats);
  });
});

describe('odd intervals (source: common practice, 20 % off the one before)', () => {
  const steady = Array.from({ length: 200 }, (_, i) => 800 + (i % 3) * 10);

  test('are none in a steady rhythm, and none in a list without intervals', () => {
    expect(intervalCheck(nnSeriesOf(steady))).toEqual({ odd: 0, share: 0 });
    expect(intervalCheck(nnSeriesOf([]))).toEqual({ odd: 0, share: 0 });
  });

  test('are found in bigeminy and in an irregular rhythm, whose own spread hides them from the classes', () => {
    const bigeminy = Array.from({ length: 200 }, (_, i) => (i % 2 === 0 ? 500 : 1100));
    expect(intervalCheck(nnSeriesOf(bigeminy)).share).toBeGreaterThan(0.9);
    const irregular = Array.from({ length: 200 }, (_, i) => 500 + ((i * 7919) % 600));
    expect(intervalCheck(nnSeriesOf(irregular)).share).toBeGreaterThan(0.3);
  });

  test('are both intervals of one early beat', () => {
    const one = steady.with(100, 480).with(101, 1120);
    const { odd, share } = intervalCheck(nnSeriesOf(one));
    expect(odd).toBeGreaterThanOrEqual(2);
    expect(odd).toBeLessThanOrEqual(3);
    expect(share).toBeCloseTo(odd / 200, 12);
  });
});

describe('measures without non-sinus beats', () => {
  const segment = span(1000, 5000);
  const none = { odd: 0, share: 0 };
  const many = { odd: 30, share: 0.1 };
  const check = (checked: ReturnType<typeof span>[], unreadable: ReturnType<typeof span>[], by: typeof none) =>
    sinusCheck(segment, { rhythmChecked: checked }, unreadable, by);

  test('are shown where the rater went through all of the segment that can be read', () => {
    expect(check([span(0, 9000)], [], many)).toMatchObject({ status: 'confirmed', reason: null, oddIntervals: 30 });
    expect(check([span(0, 3000), span(3500, 5000)], [span(3000, 3500)], many).status).toBe('confirmed');
  });

  test('are not computable where a part was not gone through and too many intervals are odd', () => {
    for (const checked of [[], [span(1000, 4999)], [span(5000, 9000)]])
      expect(check(checked, [], many)).toEqual({
        status: 'not confirmed',
        oddIntervals: 30,
        oddShare: 0.1,
        reason: '10.0 % of the intervals are odd (30), and the beats proposed as not sinus were not confirmed',
      });
  });

  test('are shown unconfirmed below 1 % of odd intervals alone', () => {
    expect(check([], [], none)).toMatchObject({ status: 'few odd intervals', reason: null });
    expect(check([], [], { odd: 9, share: 0.0099 }).status).toBe('few odd intervals');
    expect(check([], [], { odd: 10, share: 0.01 }).status).toBe('not confirmed');
  });
});
