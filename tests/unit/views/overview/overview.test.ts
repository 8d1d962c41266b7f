import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import { span } from '../../../../src/core/units';
import { framePx, overviewLayout, overviewSecondsAt, rowAt } from '../../../../src/views/overview/overview-layout';
import { standingThatFits } from '../../../../src/views/overview/paint-overview';
import { outlierRange, tachogramCurve } from '../../../../src/views/overview/tachogram';

describe('overview layout', () => {
  const layout = overviewLayout(1200, 136, 1);

  it('fills the height without overlap', () => {
    const bands = [layout.segments, layout.tachogram, layout.corrections, layout.coverage, layout.ruler];
    let y = 0;
    for (const band of bands) {
      expect(band.top).toBe(y);
      y += band.height;
    }
    expect(y).toBe(136);
  });

  it('names the row under a point', () => {
    const names = ['segments', 'tachogram', 'corrections', 'coverage', 'ruler'] as const;
    for (const name of names) expect(rowAt(layout, layout[name].top + 1)).toBe(name);
  });

  it('frames the window, wide enough to grab, and clips to the recording', () => {
    const { left, right } = framePx(layout, 1000, { startSeconds: 250, endSeconds: 500 });
    expect(overviewSecondsAt(layout, 1000, left)).toBeCloseTo(250, 6);
    expect(overviewSecondsAt(layout, 1000, right)).toBeCloseTo(500, 6);
    const tiny = framePx(layout, 86_400, { startSeconds: 100, endSeconds: 110 });
    expect(tiny.right - tiny.left).toBeCloseTo(8, 6);
    expect(overviewSecondsAt(layout, 1000, -5)).toBe(0);
    expect(overviewSecondsAt(layout, 1000, 5000)).toBe(1000);
  });
});

describe('tachogram', () => {
  // source: checks.md "Heart rate": bpm = 60000 / RR ms (common practice)
  it('lets a missed beat jump out at half the rate', () => {
    const marks = marksFrom([0, 1000, 2000, 4000, 5000]);
    const { min, max } = tachogramCurve(marks, [], 1000, 10_000, 2);
    expect([min[0], max[0]]).toEqual([30, 60]);
    expect([min[1], max[1]]).toEqual([60, 60]);
  });

  it('leaves out intervals across unreadable stretches', () => {
    const { min } = tachogramCurve(marksFrom([0, 1000, 3000]), [span(1500, 1600)], 1000, 4000, 1);
    expect(min[0]).toBe(60);
  });

  // source: a slow restatement with arrays of objects
  it('agrees with a slow restatement on random marks', () => {
    fc.assert(
      fc.property(fc.uniqueArray(fc.integer({ min: 0, max: 9999 }), { maxLength: 60 }), values => {
        const marks = marksFrom(values);
        const fast = tachogramCurve(marks, [], 500, 10_000, 20);
        for (let c = 0; c < 20; c++) {
          const rates = [...marks].flatMap((m, k) =>
            k > 0 && Math.floor(m / 500) === c ? [30_000 / (m - marks[k - 1]!)] : [],
          );
          if (rates.length === 0) expect(fast.min[c]).toBeNaN();
          else
            expect([fast.min[c], fast.max[c]]).toEqual([
              Math.fround(Math.min(...rates)),
              Math.fround(Math.max(...rates)),
            ]);
        }
      }),
      { seed: 3, numRuns: 100 },
    );
  });

  it('ranges from where a missed beat lands', () => {
    expect(outlierRange({ low: 60, high: 100 })).toEqual({ low: 30, high: 120 });
  });
});

describe('standing of a segment', () => {
  const soFar = { status: 'so far', lookedAtShare: 0.37 } as const;

  it('is said as in the ledger, in short where the segment is short, and never cut', () => {
    expect(standingThatFits(soFar, 40)).toBe('so far, 37 % looked at');
    expect(standingThatFits(soFar, 10)).toBe('so far');
    expect(standingThatFits(soFar, 5)).toBe('');
    expect(standingThatFits({ status: 'not reviewed yet', lookedAtShare: 0 }, 15)).toBe('');
    expect(standingThatFits({ status: 'final', lookedAtShare: 1 }, 5)).toBe('final');
    expect(standingThatFits(undefined, 99)).toBe('');
  });
});
