import { describe, expect, it } from 'vitest';
import { cssPxPerMm } from '../../../../src/core/units';
import { arrange } from '../../../../src/views/strip-chart/arrange';
import type { StripView } from '../../../../src/views/strip-chart/model';
import { printPalette } from '../../../../src/views/strip-chart/paint/palette';
import { paintStaticLayer, wrapped } from '../../../../src/views/strip-chart/paint/static-layer';
import type { DrawingSurface } from '../../../../src/views/strip-chart/paint/surface';
import { gainScale } from '../../../../src/views/strip-chart/trace/window';
import { recorderWith } from './made-up';

const note = 'filtered on screen: baseline, 50 Hz mains, muscle noise';

function gutter(view: Partial<StripView>, height: number) {
  const recorder = recorderWith([1000], [1000]);
  const track = { ...recorder.tracks[0]!, filteredNote: note };
  const model = { recorders: [{ ...recorder, tracks: [track] }] };
  const whole: StripView = {
    startSeconds: 0,
    mmPerSecond: 25,
    mmPerMv: 10,
    pxPerMm: cssPxPerMm,
    rows: 1,
    devicePixelRatio: 1,
    theme: '',
    ...view,
  };
  const { layout } = arrange(model, whole, 960, height);
  const band = layout.rows[0]!.groups[0]!.traces[0]!;
  const texts: { x: number; y: number; words: string; size: number }[] = [];
  const paths: number[][] = [];
  const surface = {
    text: (x: number, y: number, words: string, style: { size: number; anchor?: string }) => {
      if (style.anchor === undefined) texts.push({ x, y, words, size: style.size });
    },
    path: (points: number[]) => paths.push([...points]),
    boxes: () => undefined,
    lines: () => undefined,
  } as unknown as DrawingSurface;
  const gains = new Map([[band, gainScale(band, 0, whole.mmPerMv * whole.pxPerMm)]]);
  const intervals = [{ figures: true, rates: { low: 40, high: 140 } }];
  paintStaticLayer({ surface, palette: printPalette, model, view: whole, layout, intervals, gains });
  return { texts, paths, band };
}

describe('what stands beside a trace', () => {
  it.each([
    [{}, 320],
    [{ mmPerMv: 5 }, 320],
    [{ mmPerMv: 20 }, 420],
    [{ textScale: 1.3 }, 420],
  ])('leaves the calibration pulse its place: %j in %i px', (view, height) => {
    const { texts, paths } = gutter(view, height);
    expect(paths).toHaveLength(1);
    const xs = paths[0]!.filter((_, i) => i % 2 === 0);
    const ys = paths[0]!.filter((_, i) => i % 2 === 1);
    for (const { x, y, words, size } of texts) {
      // source: common practice, a character of a wide face is some 0.58 of its size.
      const right = x + words.length * size * 0.58;
      const apart = right < Math.min(...xs) || y < Math.min(...ys) || y - size > Math.max(...ys);
      expect(apart, `${words} at ${y}`).toBe(true);
    }
    expect(texts.map(t => t.words).join(' ')).toContain(note);
  });

  it('draws the pulse 5 mm wide and 1 mV high', () => {
    const [points] = gutter({}, 320).paths;
    // source: ECG paper, common practice: 10 mm/mV.
    expect(points![6]! - points![2]!).toBeCloseTo(5 * cssPxPerMm, 6);
    expect(points![1]! - points![5]!).toBeCloseTo(10 * cssPxPerMm, 6);
  });

  it('says at least that a filter is on where a low row has no room for which', () => {
    const { texts, band } = gutter({ rows: 1 }, 190);
    expect(texts.map(t => t.words)).toContain('filtered');
    for (const { y } of texts) expect(y).toBeLessThanOrEqual(band.top + band.height);
  });

  it('breaks words by the room of each line', () => {
    expect(wrapped('one two three', () => 7)).toEqual(['one two', 'three']);
    expect(wrapped('one two three', line => (line === 0 ? 3 : 9))).toEqual(['one', 'two three']);
    expect(wrapped('unbreakable', () => 2)).toEqual(['unbreakable']);
  });
});
