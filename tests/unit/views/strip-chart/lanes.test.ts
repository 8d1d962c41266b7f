import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cssPxPerMm, type Span, span } from '../../../../src/core/units';
import { arrange } from '../../../../src/views/strip-chart/arrange';
import { intervalAfter, rateRange } from '../../../../src/views/strip-chart/intervals';
import type { StripRecorder, StripView } from '../../../../src/views/strip-chart/model';
import { paintIntervals } from '../../../../src/views/strip-chart/paint/intervals';
import { collectMarks, tickBands } from '../../../../src/views/strip-chart/paint/marks';
import { printPalette } from '../../../../src/views/strip-chart/paint/palette';
import { paintGaps } from '../../../../src/views/strip-chart/paint/spans';
import { SvgSurface } from '../../../../src/views/strip-chart/paint/svg-surface';
import { laneAt, pickAt } from '../../../../src/views/strip-chart/pick';
import { type StripScene, xOfSample } from '../../../../src/views/strip-chart/scene';
import { xOf } from '../../../../src/views/strip-chart/time-scale';
import { density } from '../../../../src/views/strip-chart/trace/density';
import { runs } from '../../../../src/views/strip-chart/trace/paint-density';
import { recorderWith } from './made-up';

const view: StripView = {
  startSeconds: 0,
  mmPerSecond: 25,
  mmPerMv: 10,
  pxPerMm: cssPxPerMm,
  rows: 1,
  devicePixelRatio: 1,
  theme: '',
};

function sceneOf(recorder: StripRecorder): StripScene {
  const { layout, scales } = arrange({ recorders: [recorder] }, view, 1400, 500);
  return {
    surface: new SvgSurface(),
    palette: printPalette,
    recorder,
    group: layout.rows[0]!.groups[0]!,
    scale: scales[0]!,
    windows: [],
    textScale: 1,
    rates: { low: 40, high: 140 },
  };
}

describe('shapes of the marks', () => {
  // source: domain.md "Matching": tolerance 50 ms, window 400 ms; look.md for the shapes
  const recorder = recorderWith([1000, 2020, 3300, 4500], [1000, 2000, 3000, 4000], { accepted: [span(0, 9000)] });

  it('joins kept marks straight and moved ones with a slant, strikes removed ones, opens inserted ones', () => {
    const scene = sceneOf(recorder);
    const shapes = collectMarks(scene);
    const at = (sample: number) => xOfSample(scene, sample);
    expect(shapes.joins.filter((_, i) => i % 2 === 0)).toEqual([at(1000), at(1000)]);
    const slantEnds = shapes.slants.filter((_, i) => i % 2 === 0);
    expect(slantEnds).toEqual([at(2020), at(2000), at(3300), at(3000)]);
    const strikeXs = shapes.strikes.filter((_, i) => i % 2 === 0);
    expect(strikeXs.slice(0, 4)).toEqual([at(4000) - 4, at(4000), at(4000), at(4000) + 4]);
    expect(strikeXs.slice(4)).toEqual([at(4500) - 6, at(4500) + 6]);
  });

  it('draws nothing in the detected lane above an inserted mark', () => {
    const scene = sceneOf(recorder);
    const bands = tickBands(scene.group.detected, scene.group.reviewed);
    const { ticks } = collectMarks(scene);
    const x = xOfSample(scene, 4000);
    for (let i = 0; i < ticks.length; i += 4) {
      if (Math.abs(ticks[i]! + 1 - x) < 0.01) expect(ticks[i + 1]).toBeGreaterThan(bands.reviewed.top);
    }
  });

  it('dots what was not looked at and leaves unreadable marks faint', () => {
    const fresh = collectMarks(sceneOf({ ...recorder, accepted: [] }));
    expect(fresh.joins).toEqual([]);
    expect(fresh.dottedJoins).toHaveLength(4);
    const noisy = collectMarks(sceneOf(recorderWith([1000, 2000], [1000, 2000], { unreadable: [span(900, 1100)] })));
    expect(noisy.faint).toHaveLength(8);
  });
});

describe('figures of intervals', () => {
  const drawn = (beats: readonly number[], rates: { low: number; high: number }) => {
    const scene = { ...sceneOf(recorderWith([...beats], [...beats])), rates };
    paintIntervals({ ...scene, group: { ...scene.group, interval: { ...scene.group.interval, height: 18 } } });
    return (scene.surface as SvgSurface).finish(1400, 500, cssPxPerMm, '', {});
  };
  const many = Array.from({ length: 12 }, (_, i) => 1000 * (i + 1));

  it('have the rate beside them or not in every row alike, however few beats it has', () => {
    const fast = { low: 40, high: 140 };
    expect(drawn(many, fast)).not.toContain('·');
    expect(drawn(many.slice(0, 3), fast)).not.toContain('·');
    const slow = { low: 30, high: 70 };
    expect(drawn(many, slow)).toContain('1000 · 60');
    expect(drawn(many.slice(0, 3), slow)).toContain('1000 · 60');
  });
});

describe('a recorder that runs while the other does not', () => {
  const drawn = (recorder: StripRecorder, startSeconds = 0) => {
    const scene = sceneOf(recorder);
    const { widthPx, endSeconds } = scene.scale;
    const shift = startSeconds - scene.scale.startSeconds;
    const moved = { ...scene.scale, startSeconds, endSeconds: endSeconds + shift };
    paintGaps({ ...scene, scale: moved });
    return (scene.surface as SvgSurface).finish(widthPx, 500, cssPxPerMm, '', {});
  };
  const later = { toAxisSeconds: (s: number) => s + 8, fromAxisSeconds: (s: number) => s - 8 };

  it('is said not to be recorded before it begins and after it ends, and nowhere else', () => {
    expect(drawn(recorderWith([1000], [1000], { axis: later }))).toContain('not recorded');
    expect(drawn(recorderWith([1000], [1000], { sampleCount: 4000 }))).toContain('not recorded');
    expect(drawn(recorderWith([1000], [1000]))).not.toContain('not recorded');
    expect(drawn(recorderWith([1000], [1000], { axis: later }), 8)).not.toContain('not recorded');
  });
});

describe('picking', () => {
  const first = recorderWith([1000, 2000], [1000, 2050]);
  const second = {
    ...recorderWith([1500], [1500]),
    id: 'b',
    axis: { toAxisSeconds: (s: number) => s + 1, fromAxisSeconds: (s: number) => s - 1 },
  };
  const model = { recorders: [first, second] };
  const { layout, scales } = arrange(model, { ...view, rows: 2 }, 1400, 900);

  it('finds recorder, row, lane and mark', () => {
    const group = layout.rows[0]!.groups[0]!;
    const x = xOf(scales[0]!, 2.05);
    expect(pickAt(model, layout, scales, x + 3, group.reviewed.top + 4)).toMatchObject({
      recorderId: 'a',
      rowIndex: 0,
      lane: 'reviewed',
      nearMark: 2050,
    });
    expect(pickAt(model, layout, scales, x, group.detected.top + 4)!.nearMark).toBe(2000);
    expect(pickAt(model, layout, scales, x + 12, group.reviewed.top + 4)!.nearMark).toBeNull();
    // source: WCAG 2.2, 2.5.8: 24 px at least, here by 12 to either side; a finger gets more
    expect(pickAt(model, layout, scales, x + 12, group.reviewed.top + 4, 'pen')!.nearMark).not.toBeNull();
    expect(pickAt(model, layout, scales, x + 22, group.reviewed.top + 4, 'touch')!.nearMark).not.toBeNull();
    expect(pickAt(model, layout, scales, x + 60, group.traces[0]!.top + 4)!.nearMark).toBeNull();
  });

  it('reads the second recorder on its own clock', () => {
    const group = layout.rows[0]!.groups[1]!;
    const picked = pickAt(model, layout, scales, xOf(scales[0]!, 2.5), group.reviewed.top + 4);
    expect(picked).toMatchObject({ recorderId: 'b', sample: 1500, nearMark: 1500 });
  });

  it('clips to the recording', () => {
    expect(pickAt(model, layout, scales, 2, 100)!.sample).toBe(0);
  });

  it('names every lane by its height', () => {
    const group = layout.rows[1]!.groups[0]!;
    const lanes = ['detected', 'reviewed', 'interval', 'unreadable'] as const;
    for (const lane of lanes) expect(laneAt(group, group[lane].top)).toBe(lane);
    expect(laneAt(group, group.top)).toBe('trace');
  });
});

describe('intervals', () => {
  // source: checks.md "Heart rate": bpm = 60000 / RR ms (common practice)
  it('gives RR, and says when the recorder has it too', () => {
    const recorder = recorderWith([1000, 2000, 2400, 3000], [1000, 2000, 3000, 4000]);
    expect(intervalAfter(recorder, 0)).toEqual({ rrMs: 1000, asDetected: true });
    expect(intervalAfter(recorder, 1)).toEqual({ rrMs: 1000, asDetected: false });
    expect(intervalAfter(recorder, 2)).toEqual({ rrMs: 1000, asDetected: false });
    expect(intervalAfter(recorder, 3)).toBeNull();
  });

  it('judges none across an unreadable stretch or a gap', () => {
    const cut = { unreadable: [span(1400, 1500)], gaps: [span(2400, 2500)] };
    const recorder = recorderWith([1000, 2000, 3000], [1000, 2000, 3000], cut);
    expect(intervalAfter(recorder, 0)!.rrMs).toBeNull();
    expect(intervalAfter(recorder, 1)!.rrMs).toBeNull();
  });

  it('ranges the rate line around the usual rates', () => {
    const steady = Int32Array.from({ length: 200 }, (_, k) => k * 800);
    expect(rateRange(steady, 1000)).toEqual({ low: 60, high: 100 });
    expect(rateRange(new Int32Array(0), 1000)).toEqual({ low: 40, high: 140 });
  });
});

describe('density', () => {
  const samples = fc.uniqueArray(fc.integer({ min: 0, max: 19_999 }), { maxLength: 40 });

  // source: a slow count by filter
  it('counts every mark once, in its column', () => {
    fc.assert(
      fc.property(samples, samples, fc.constantFrom(1, 7.3, 40), (d, r, pxPerSecond) => {
        const recorder = recorderWith(d, r, {
          accepted: [span(0, 8000)],
          unreadable: [span(12_000, 13_000)] as Span[],
        });
        const counted = density(recorder, pxPerSecond);
        const columns = [...recorder.reviewed].filter(m => m < 12_000 || m >= 13_000);
        const total = [counted.looked, counted.unlooked, counted.moved, counted.inserted].map(sum);
        expect(total.reduce((a, b) => a + b)).toBe(columns.length);
        expect(sum(counted.removed)).toBe(
          [...recorder.detected].filter((_, j) => recorder.verdicts.ofDetected(j) === 3).length,
        );
        for (const m of columns) {
          const c = Math.floor((m / 1000) * pxPerSecond + 1e-9) - counted.firstColumn;
          const here = [counted.looked, counted.unlooked, counted.moved, counted.inserted].map(
            a => (a[c] ?? 0) + (a[c - 1] ?? 0),
          );
          expect(here.some(n => n > 0)).toBe(true);
        }
      }),
      { seed: 8, numRuns: 100 },
    );
  });

  it('keeps the extreme rates of a column, so a missed beat stays visible', () => {
    const beats = [0, 1000, 2000, 4000, 5000];
    const { rateMin, rateMax } = density(recorderWith([...beats], [...beats]), 0.1);
    expect([rateMin[0], rateMax[0]]).toEqual([30, 60]);
  });

  it('joins columns into runs across small holes only', () => {
    const looked = Uint16Array.from([1, 0, 0, 1, 0, 0, 0, 0, 0, 0, 1, 0]);
    const unlooked = new Uint16Array(12);
    unlooked[11] = 1;
    expect(runs({ looked, unlooked }, 0, 12)).toEqual([
      { from: 0, to: 4, looked: true },
      { from: 10, to: 11, looked: true },
      { from: 11, to: 12, looked: false },
    ]);
  });
});

function sum(counts: Uint16Array): number {
  return counts.reduce((a, b) => a + b, 0);
}
