import { expect, test } from 'vitest';
import { lombScargle } from '../../../../src/core/hrv/lomb-scargle';
import { nnIntervals, nnSeriesOf } from '../../../../src/core/hrv/nn';
import { tachogram } from '../../../../src/core/hrv/tachogram';
import { welch } from '../../../../src/core/hrv/welch';
import { marksFrom } from '../../../../src/core/marks/markset';
import { span } from '../../../../src/core/units';

test('a spectrum of too little is refused', () => {
  expect(() => welch(Float64Array.of(800), 4)).toThrow(RangeError);
  expect(() => tachogram(nnSeriesOf([800, 810]))).toThrow(RangeError);
  expect(() => lombScargle(Float64Array.of(1, 2), Float64Array.of(800, 810))).toThrow(RangeError);
  expect(() => lombScargle(Float64Array.of(1, 1, 1), Float64Array.of(800, 810, 790))).toThrow(RangeError);
});

test('a piece of the periodogram with fewer than ten values is left out', () => {
  const whole = Array.from({ length: 300 }, (_, i) => i);
  const middle = [350, 351, 352, 353, 354];
  const times = Float64Array.from([...whole, ...middle, ...whole.map(t => t + 601)]);
  const withMiddle = (value: number) =>
    lombScargle(
      times,
      times.map(t => (t >= 350 && t < 355 ? value * (t % 2) : 20 * Math.sin(0.6 * t))),
    );
  expect(withMiddle(500)).toEqual(withMiddle(0));
  // source: a sine of amplitude 20 carries 20^2 / 2 ms^2
  const { frequenciesHz, density } = withMiddle(500);
  const power = density.reduce((sum, d) => sum + d, 0) * (frequenciesHz[1]! - frequenciesHz[0]!);
  expect(power / 200).toBeCloseTo(1, 1);
});

test('a non-sinus place without a beat takes nothing out', () => {
  const source = { beats: marksFrom([0, 100, 200, 300]), excluded: [], samplingRateHz: 100 };
  const all = nnIntervals({ ...source, nonSinus: marksFrom([]) }, span(0, 400));
  expect(nnIntervals({ ...source, nonSinus: marksFrom([150]) }, span(0, 400))).toEqual(all);
  expect(nnIntervals({ ...source, nonSinus: marksFrom([100]) }, span(0, 400)).intervalsMs).toHaveLength(1);
});
