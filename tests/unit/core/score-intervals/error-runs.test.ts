import { describe, expect, test } from 'vitest';
import { designEffect, errorRuns, runsInterval } from '../../../../src/core/score/error-runs';
import type { LostStretch } from '../../../../src/core/score/lost';
import { span } from '../../../../src/core/units';

const beats = Int32Array.from({ length: 200 }, (_, i) => 100 * i);
const lost = (start: number, end: number, intervals: number | null): LostStretch => ({
  ...span(100 * start, 100 * end),
  kind: 'unreadable',
  intervals,
});

describe('runs of mistakes', () => {
  // source: definition; a run goes on over at most ten right intervals
  test('join what lies close together, lost stretches with the rest', () => {
    expect(errorRuns(beats, [], [])).toEqual([]);
    expect(errorRuns(beats, [4, 5], [])).toEqual([2]);
    expect(errorRuns(beats, [4, 15], [])).toEqual([2]);
    expect(errorRuns(beats, [4, 16], [])).toEqual([1, 1]);
    expect(errorRuns(beats, [4, 60, 61], [lost(10, 22, 12), lost(120, 130, 9)])).toEqual([13, 2, 9]);
    expect(errorRuns(beats, [], [lost(10, 22, null)])).toEqual([0]);
  });

  // source: by hand, (5 x 6 + sum of squares) / (5 + sum)
  test('weigh by their length', () => {
    expect(designEffect([])).toBe(6);
    expect(designEffect([2, 2, 2])).toBeCloseTo(42 / 11, 14);
    expect(designEffect(Array.from({ length: 200 }, () => 1))).toBeCloseTo(230 / 205, 14);
  });

  // source: R 4.2, qbeta(c(.025, .975), ...) at 300 / 6 intervals, and at 40 / 6.117647
  test('make the interval wider than independent mistakes would', () => {
    const [low, high] = runsInterval(300, 300, [])!;
    expect(low).toBeCloseTo(0.9288783, 6);
    expect(high).toBe(1);
    expect(runsInterval(28, 40, [7, 5])![0]).toBeCloseTo(0.2649316, 6);
    expect(runsInterval(0, 0, [])).toBeNull();
    // Fewer intervals than the design effect are one.
    expect(runsInterval(2, 2, [])![0]).toBeCloseTo(0.025, 10);
  });
});
