import { describe, expect, it } from 'vitest';
import { cssPxPerMm, span } from '../../../../src/core/units';
import { changedIntervals } from '../../../../src/views/strip-chart/intervals';
import type { StripView } from '../../../../src/views/strip-chart/model';
import { stripPicture } from '../../../../src/views/strip-chart/strip-picture';
import { recorderWith } from './made-up';

const beats = [1000, 1800, 2600, 4200, 5000, 5100, 5800];
const recorder = recorderWith(beats, beats);
const none = { removed: [], added: [] };

describe('the intervals of a change', () => {
  it('are those between the marks around it, as they are and as they would be', () => {
    expect(changedIntervals(recorder, { ...none, added: [3400] })).toEqual({
      start: 2600,
      end: 4200,
      beforeMs: [1600],
      afterMs: [800, 800],
    });
    expect(changedIntervals(recorder, { ...none, removed: [5100] })).toMatchObject({
      beforeMs: [100, 700],
      afterMs: [800],
    });
    expect(changedIntervals(recorder, { removed: [5100], added: [5400] })).toMatchObject({
      beforeMs: [100, 700],
      afterMs: [400, 400],
    });
    // A gap filled with several beats is one change.
    expect(changedIntervals(recorder, { ...none, added: [3000, 3400, 3800] })!.afterMs).toEqual([400, 400, 400, 400]);
  });

  it('are none at an end without neighbours, nor where no interval is judged', () => {
    expect(changedIntervals(recorderWith([], []), { ...none, added: [3400] })).toBeNull();
    expect(changedIntervals(recorder, none)).toBeNull();
    const noisy = recorderWith(beats, beats, { unreadable: [span(3000, 3200)] });
    expect(changedIntervals(noisy, { ...none, added: [3400] })).toBeNull();
    // After the last mark there is no interval to be seen before.
    expect(changedIntervals(recorder, { ...none, added: [6600] })).toBeNull();
  });
});

describe('a preview in the interval lane', () => {
  const view: StripView = {
    startSeconds: 0,
    mmPerSecond: 25,
    mmPerMv: 10,
    pxPerMm: cssPxPerMm,
    rows: 1,
    devicePixelRatio: 1,
    theme: '',
  };
  const words = (preview: NonNullable<Parameters<typeof recorderWith>[2]>['preview'], more = {}) => {
    const model = { recorders: [recorderWith(beats, beats, { preview: preview ?? null, ...more })] };
    const svg = stripPicture({ model, view, width: 960, height: 360, notes: [] });
    return svg.match(/(?<=>)[^<>]*(?=<\/text>)/g) ?? [];
  };

  it('says before and after instead of the figures that it would cover', () => {
    expect(words(null)).toContain('1600');
    const shown = words({ ...none, added: [3400], unreadable: null });
    expect(shown).toContain('1600 → 800 800');
    expect(shown).not.toContain('1600');
    expect(shown.filter(w => w === '800').length).toBeGreaterThan(0);
  });

  it('strikes what a span would lose', () => {
    const lost = { ...none, unreadable: span(1200, 2700) };
    const svg = (preview: typeof lost | null) =>
      stripPicture({
        model: { recorders: [recorderWith(beats, beats, { preview })] },
        view,
        width: 960,
        height: 360,
        notes: [],
      });
    expect(words(lost)).toContain('800');
    expect(svg(lost).length).toBeGreaterThan(svg(null).length);
  });
});
