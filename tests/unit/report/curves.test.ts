import { expect, test } from 'vitest';
import type { HrvCurves } from '../../../src/core/report/hrv-effects';
import { curvesFigures } from '../../../src/report/figures/curves-figure';

/** A segment of equal intervals; without any when `rr` is 0. */
function curvesOf(activity: string, lengthSeconds: number, rr = 800): HrvCurves {
  const count = rr > 0 ? Math.floor((lengthSeconds * 1000) / rr) : 0;
  const seconds = Array.from({ length: count }, (_, i) => ((i + 1) * rr) / 1000);
  const series = { seconds, rrMs: seconds.map(() => rr) };
  const one = rr > 0 ? { frequenciesHz: [0, 0.1, 0.4], density: [1, 3, 0] } : null;
  return {
    volunteer: 'V01',
    recorder: 'chest band',
    activity,
    lengthSeconds,
    tachogram: { detected: series, reviewed: series, sinus: series },
    spectrum: { detected: one, reviewed: one, sinus: one },
  };
}

const drawingOf = (curves: readonly HrvCurves[]) => curvesFigures(curves)[0]!.drawing;
const numbersBelow = (body: string, number: string) => body.split(`>${number}</text>`).length - 1;

test('rows of about one length share their axes: numbers stand once, under the last row with a curve', () => {
  const drawing = drawingOf([curvesOf('rest', 300), curvesOf('run', 280), curvesOf('lost', 290, 0)]);
  expect(numbersBelow(drawing.body, '250')).toBe(1);
  expect(numbersBelow(drawing.body, 's')).toBe(1);
  expect(numbersBelow(drawing.body, 'Hz')).toBe(1);
  expect(drawing.body).toContain('lost: no interval');
});

test('rows of other lengths keep a time axis each', () => {
  const drawing = drawingOf([curvesOf('rest', 300), curvesOf('march', 3000)]);
  expect(numbersBelow(drawing.body, 's')).toBe(2);
  expect(numbersBelow(drawing.body, 'Hz')).toBe(1);
});

// source: ISO 216 and ANSI Letter less the margins of the page: 250 mm at least; 1 in = 96 px
test('a figure of five rows takes less than half a page, and no figure more than one', () => {
  const pagePx = (250 / 25.4) * 96;
  const of = (count: number, length: (i: number) => number) =>
    drawingOf(Array.from({ length: count }, (_, i) => curvesOf(`part ${i}`, length(i)))).heightPx;
  expect(of(5, () => 300)).toBeLessThan(pagePx / 2 - 40);
  expect(of(10, i => 100 * (i + 1))).toBeLessThan(pagePx - 40);
});

test('many segments of one recording are drawn in even parts that say which they hold', () => {
  const many = Array.from({ length: 13 }, (_, i) => curvesOf(`stage ${i + 1}`, 300));
  const curves = curvesFigures(many);
  expect(curves.map(f => f.title)).toEqual([
    'Tachograms and spectra: V01, chest band, stage 1 to stage 7',
    'Tachograms and spectra: V01, chest band, stage 8 to stage 13',
  ]);
  expect(curves.map(f => f.id)).toEqual(['figure-curves-1', 'figure-curves-2']);
});
