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

  test('are those under a comment that begins so, within 150 ms', () => {
    const notes = [
      note(302, ' Ectopic, wide'),
      note(485, 'not sinus'),
      note(116, 'non-sinus, but 160 ms away'),
      note(100, 'looks ectopic'),
      note(500, 'ectopic', 'flag'),
    ];
    expect(beatsRatersMarked({ notes, marks }, 100)).toEqual([300, 500]);
  });

  test('are none where there is no beat', () => {
    expect(beatsRatersMarked({ notes: [note(5, 'ectopic')], marks: noMarks }, 100)).toEqual([]);
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
