import { expect, test } from 'vitest';
import { clockDoubts, driftError } from '../../../../src/core/report/pairs/clock-doubts';

test('a usual drift that is known well leaves nothing to doubt', () => {
  expect(clockDoubts(74, 3)).toEqual([]);
  expect(clockDoubts(-200, null)).toEqual([]);
});

test('an unusual drift, and one that is not known well, are both said', () => {
  expect(clockDoubts(-674, null)).toEqual([expect.stringContaining('beyond ±200 ppm')]);
  expect(clockDoubts(250, 61.4)).toEqual([
    expect.stringContaining('sampling rates'),
    expect.stringContaining('up to 61 ms off'),
  ]);
});

// source: definition, worked out by hand; beats at 0 and 20 s: mean 10 s, SD 10 s, so that 10 ms of residuals leave
// 1.96 x 10 / (sqrt(2) x 10) = 1.386 ms in each second, and 90 s after the middle 124.7 ms
test('the error of a drift grows to the far end of the recording', () => {
  const { driftErrorPpm, endErrorMs } = driftError(Float64Array.from([0, 20]), 10, 100);
  expect(driftErrorPpm).toBeCloseTo(1385.93, 2);
  expect(endErrorMs).toBeCloseTo(124.73, 2);
  expect(driftError(Float64Array.from([5, 5]), 10, 100)).toEqual({ driftErrorPpm: null, endErrorMs: null });
});
