import { expect, test } from 'vitest';
import { leavingIn, roomTaken } from '../../../../src/views/strip-chart/trace/leaving';
import { TraceWindow } from '../../../../src/views/strip-chart/trace/window';

const band = { top: 100, height: 100 };

/** Columns two pixels apart from x = 10 on; the reference line in the middle of the band, 10 px to the mV. */
function windowOf(max: readonly number[], min: readonly number[] = max): TraceWindow {
  const window = new TraceWindow();
  window.count = max.length;
  window.firstX = 10;
  window.stepX = 2;
  window.max = Float32Array.from(max);
  window.min = Float32Array.from(min);
  window.gain = { baseMv: 0, baseY: 150, pxPerMv: 10 };
  return window;
}

test('a wave that stays in its row has no sign; up to the edge itself it stays', () => {
  expect(leavingIn(windowOf([0, 5, -5, 0]), band)).toEqual([]);
});

test('one sign a wave, at its furthest point, at the edge that it crosses', () => {
  expect(leavingIn(windowOf([0, 6, 8, 7, 0, -6]), band)).toEqual([
    { x: 14, edge: 'top' },
    { x: 20, edge: 'bottom' },
  ]);
});

test('where there is no signal nothing leaves', () => {
  expect(leavingIn(windowOf([Number.NaN, 6, Number.NaN]), band)).toEqual([{ x: 12, edge: 'top' }]);
  expect(roomTaken(windowOf([Number.NaN]), band)).toBe(0);
});

test('the room taken is the larger share above or below the reference line', () => {
  expect(roomTaken(windowOf([2.5, 1], [0, -1]), band)).toBeCloseTo(0.5);
  expect(roomTaken(windowOf([2.5, 1], [0, -10]), band)).toBeCloseTo(2);
});
