import { describe, expect, test } from 'vitest';
import type { RrOutlier } from '../../../../src/core/hrv/outliers';
import type { Note } from '../../../../src/core/marks/edit';
import { marksFrom, noMarks } from '../../../../src/core/marks/markset';
import { beatsIntervalsGiveAway, beatsRatersMarked } from '../../../../src/core/report/non-sinus';
import { sampleIndex } from '../../../../src/core/units';

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
