import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cssPxPerMm } from '../../../../src/core/units';
import { arrange } from '../../../../src/views/strip-chart/arrange';
import { gridShift, gridSpacing, linePositions } from '../../../../src/views/strip-chart/grid';
import { intervalParts, rowsThatFit, stripLayout } from '../../../../src/views/strip-chart/layout';
import { type StripView, shiftedClock } from '../../../../src/views/strip-chart/model';
import { levelLines, slantedLines } from '../../../../src/views/strip-chart/paint/hatch';
import {
  axisSecondsAt,
  clockWords,
  rulerStep,
  timeScale,
  wallClock,
  xOf,
} from '../../../../src/views/strip-chart/time-scale';
import { gainScale, referenceMv, TraceWindow, yOf } from '../../../../src/views/strip-chart/trace/window';
import { recorderWith } from './made-up';

const view: StripView = {
  startSeconds: 3,
  mmPerSecond: 25,
  mmPerMv: 10,
  pxPerMm: cssPxPerMm,
  rows: 3,
  devicePixelRatio: 2,
  theme: 'light',
};

describe('time scale', () => {
  it('turns seconds into pixels and back', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 90_000, noNaN: true }),
        fc.double({ min: 0.01, max: 900, noNaN: true }),
        (s, p) => {
          const scale = timeScale(s, p, 124, 1400, 2);
          expect(axisSecondsAt(scale, xOf(scale, s + 1))).toBeCloseTo(s + 1, 6);
          expect(Math.abs(scale.startSeconds - s) * p).toBeLessThanOrEqual(0.2500001);
        },
      ),
      { seed: 4 },
    );
  });

  // source: checks.md "ECG paper": a 1 mm box is 40 ms by 0.1 mV, a 5 mm box 200 ms by 0.5 mV (common practice)
  it('is true to the ECG paper', () => {
    const scale = timeScale(0, 25 * cssPxPerMm, 0, 1000, 1);
    expect(xOf(scale, 0.04)).toBeCloseTo(cssPxPerMm, 9);
    expect(xOf(scale, 0.2)).toBeCloseTo(5 * cssPxPerMm, 9);
    const gain = gainScale({ top: 0, height: 200 }, 0, 10 * cssPxPerMm);
    expect(yOf(gain, 0) - yOf(gain, 0.5)).toBeCloseTo(5 * cssPxPerMm, 9);
    expect(gridSpacing(25, cssPxPerMm)).toMatchObject({ fineX: cssPxPerMm, boldX: 5 * cssPxPerMm });
  });

  it('drops the fine grid where single waves cannot be judged', () => {
    expect(gridSpacing(5, cssPxPerMm)).toMatchObject({ fineX: 0, fineY: 0 });
  });

  it('puts a bold grid line on second 0 however far one pans', () => {
    for (const start of [0, 0.13, 7.77, 12345.6]) {
      const scale = timeScale(start, 25 * cssPxPerMm, 0, 1000, 2);
      const { boldX } = gridSpacing(25, cssPxPerMm);
      const offset = (gridShift(scale, boldX) - scale.startSeconds * scale.pxPerSecond) / boldX;
      expect(Math.abs(offset - Math.round(offset))).toBeLessThan(1e-6);
    }
  });

  it('rules at whole device pixels', () => {
    expect(linePositions(0, 2.5, 10, 2)).toEqual([0, 5, 10, 15]);
    expect(linePositions(-1, 4, 10, 1)).toEqual([3, 7]);
    expect(linePositions(0, 0, 10, 1)).toEqual([]);
  });

  it('labels at round times, never closer than asked', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 800, noNaN: true }), pxPerSecond => {
        expect(rulerStep(pxPerSecond, 74).labelSeconds * pxPerSecond).toBeGreaterThanOrEqual(74);
      }),
      { seed: 5 },
    );
    expect(rulerStep(94.5, 74)).toEqual({ labelSeconds: 1, ticks: 5 });
    // A day, 60 days and a year over the overview of a small window.
    const over = (days: number) => rulerStep(800 / (days * 86_400), 74).labelSeconds / 86_400;
    expect([over(1), over(60), over(366)]).toEqual([1 / 6, 7, 56]);
    expect(rulerStep(800 / 86_400, 74).ticks).toBe(4);
  });

  it('writes times', () => {
    expect(clockWords(62, 1)).toBe('1:02');
    expect(clockWords(3723, 60)).toBe('1:02:03');
    expect(clockWords(59.96, 0.1)).toBe('1:00.0');
    expect(clockWords(-2, 1)).toBe('\u22120:02');
    expect(wallClock('2031-02-11T23:59:58', 5)).toBe('00:00:03');
    expect(wallClock(null, 5)).toBeNull();
  });

  it('maps a second clock by offset and drift, and back', () => {
    const clock = shiftedClock(12.5, 200);
    expect(clock.fromAxisSeconds(clock.toAxisSeconds(3600))).toBeCloseTo(3600, 9);
    expect(clock.toAxisSeconds(0)).toBe(12.5);
    // source: definition of parts per million: 200 ppm fast over 3600 s shows 0.72 s more
    expect(clock.fromAxisSeconds(12.5 + 3600)).toBeCloseTo(3600.72, 9);
  });
});

describe('layout', () => {
  const tracks = (n: number) => ({
    tracks: recorderWith([], []).tracks.flatMap(t => Array.from({ length: n }, () => t)),
  });

  it('stacks rows, groups and lanes without overlap', () => {
    const layout = stripLayout([tracks(3), tracks(1)], view, 1440, 900);
    for (const row of layout.rows) {
      let y = row.ruler.top + row.ruler.height;
      for (const group of row.groups) {
        const bands = [...group.traces, group.margin, group.detected, group.reviewed, group.interval, group.unreadable];
        for (const band of bands) {
          expect(band.top).toBeGreaterThanOrEqual(y);
          y = band.top + band.height;
        }
        expect(group.bottom).toBe(y);
      }
    }
    expect(layout.rows.map(r => r.groups.map(g => g.traces.length))).toEqual([
      [3, 1],
      [3, 1],
      [3, 1],
    ]);
  });

  it('stays within the height as long as rows fit', () => {
    const rows = rowsThatFit([tracks(1)], cssPxPerMm, 900);
    expect(rows).toBeGreaterThan(2);
    const layout = stripLayout([tracks(1)], { rows }, 1440, 900);
    expect(layout.rows.at(-1)!.groups.at(-1)!.bottom).toBeLessThanOrEqual(900);
    // Larger words take more of each row: the traces keep their 28 mm, and there are fewer rows.
    for (const textScale of [1, 18 / 14, 1.5]) {
      const fit = rowsThatFit([tracks(1)], cssPxPerMm, 640, textScale);
      const [trace] = stripLayout([tracks(1)], { rows: fit, textScale }, 1440, 640).rows[0]!.groups[0]!.traces;
      expect(trace!.height).toBeGreaterThanOrEqual(28 * cssPxPerMm - 1);
    }
  });

  it('shares a tall row out: the trace in the middle of its paper, a line of heart rate below the figures', () => {
    for (const height of [690, 870, 1300]) {
      const [group] = stripLayout([tracks(1)], { rows: 1 }, 1000, height).rows[0]!.groups;
      const trace = group!.traces[0]!;
      const { baseY } = gainScale(trace, 0, 10 * cssPxPerMm);
      // An R wave of 1 mV stands between the thirds of the paper.
      const middle = (baseY - 5 * cssPxPerMm - trace.top) / trace.height;
      expect(middle).toBeGreaterThan(1 / 3);
      expect(middle).toBeLessThan(2 / 3);
      expect(group!.bottom).toBeLessThanOrEqual(height);
      const { figures, line } = intervalParts(group!.interval, true, 1);
      expect(figures!.height + line!.height).toBe(group!.interval.height);
      expect(line!.height).toBeGreaterThan(40);
      expect(intervalParts(group!.interval, false, 1)).toEqual({ figures: null, line: group!.interval });
    }
  });

  it('leaves low rows to the trace', () => {
    const [group] = stripLayout([tracks(1)], { rows: 1 }, 1000, 320).rows[0]!.groups;
    expect(group!.interval.height).toBe(32);
    expect(intervalParts(group!.interval, true, 1)).toEqual({ figures: group!.interval, line: null });
  });

  it('goes on in each row where the one above ends', () => {
    const { scales } = arrange({ recorders: [recorderWith([], [])] }, view, 1000, 700);
    expect(scales).toHaveLength(3);
    for (const [i, scale] of scales.entries()) {
      if (i > 0)
        expect(Math.abs(scale.startSeconds - scales[i - 1]!.endSeconds) * scale.pxPerSecond).toBeLessThanOrEqual(0.51);
    }
  });
});

describe('trace window', () => {
  const load = (startSeconds: number, pxPerSecond: number) => {
    const recorder = recorderWith([], [5000, 6000]);
    const window = new TraceWindow();
    const scale = timeScale(startSeconds, pxPerSecond, 100, 800, 1);
    window.load(recorder.tracks[0]!, recorder.axis, 20, scale);
    window.gain = gainScale({ top: 0, height: 200 }, 0, 40);
    return { window, scale };
  };

  it('runs through samples where there are few a pixel, each at its own time', () => {
    const { window, scale } = load(4.5, 500);
    expect(window.perSample).toBe(true);
    const k = Math.round((xOf(scale, 5) - window.firstX) / window.stepX);
    expect(window.max[k]).toBeCloseTo(1.1, 6);
    expect(window.firstX + k * window.stepX).toBeCloseTo(xOf(scale, 5), 6);
  });

  it('uses columns on a fixed lattice where there are many', () => {
    const a = load(2, 80);
    const b = load(2.5, 80);
    expect(a.window.perSample).toBe(false);
    const shift = (a.window.firstX - b.window.firstX) / a.window.stepX;
    expect(Math.abs(shift - Math.round(shift))).toBeLessThan(1e-6);
    expect(a.window.count).toBeGreaterThanOrEqual(800);
  });

  it('finds the highest and lowest point around a place', () => {
    const { window, scale } = load(4.5, 500);
    const x = xOf(scale, 5);
    expect(window.highestY(x - 5, x + 5, -1)).toBeCloseTo(yOf(window.gain, 1.1), 3);
    expect(window.lowestY(x - 5, x + 5, -1)).toBeCloseTo(yOf(window.gain, 0), 6);
    expect(window.lowestY(-500, -400, 77)).toBe(77);
  });

  it('shows nothing before and after the recording', () => {
    expect(load(-30, 80).window.count).toBe(0);
    expect(load(25, 80).window.count).toBe(0);
  });

  it('keeps the reference line until the signal has wandered off', () => {
    expect(referenceMv(undefined, 1.3, 0.5)).toBe(1.5);
    expect(referenceMv(0, 0.6, 0.5)).toBe(0);
    expect(referenceMv(0, 0.9, 0.5)).toBe(1);
    expect(referenceMv(1, null, 0.5)).toBe(1);
  });
});

describe('hatching', () => {
  it('keeps slanted lines inside the box and on their origin', () => {
    const out: number[] = [];
    slantedLines(out, 10, 20, 50, 30, 3, 8);
    expect(out.length).toBeGreaterThan(16);
    for (let i = 0; i < out.length; i += 4) {
      const [x0, y0, x1, y1] = [out[i]!, out[i + 1]!, out[i + 2]!, out[i + 3]!];
      for (const x of [x0, x1]) expect(x >= 10 && x <= 60).toBe(true);
      for (const y of [y0, y1]) expect(y >= 20 && y <= 50).toBe(true);
      expect(x1 - x0).toBeCloseTo(y0 - y1, 9);
      expect((((x0 + y0 - 50 - 3) % 8) + 8) % 8).toBeCloseTo(0, 9);
    }
  });

  it('rules level lines apart evenly', () => {
    const out: number[] = [];
    levelLines(out, 0, 0, 10, 20, 5);
    expect(out.filter((_, i) => i % 4 === 1)).toEqual([3, 8, 13, 18]);
  });
});
