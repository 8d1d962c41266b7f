import { describe, expect, test } from 'vitest';
import { takeBack } from '../../../src/commands/edits';
import { goOnWithSample, leaveSample, sampledOnPage, startSample, takeShown } from '../../../src/commands/sampling';
import type { SampleIndex } from '../../../src/core/units';
import { sampledOf } from '../../../src/state/review/sampling';
import { pageSpan } from '../../../src/state/review/workspace';
import { createStatus, openWorkspace } from './workspace';

// One minute at 100 Hz with a beat a second, in stretches of 5 s: twelve of them.

function begun(analysed = true) {
  const opened = openWorkspace();
  const { suspicions } = opened.workspace;
  const none = { second: new Int32Array(0), suspected: [] };
  const workspace = { ...opened.workspace, suspicions: { ...suspicions, analysed: () => (analysed ? none : null) } };
  const app = createStatus();
  const said = () => app.ui.getState().said;
  const shown = () => workspace.view.getState().sampling;
  return { workspace, app, said, shown, number: () => sampledOf(workspace, 'chest-band')[0]!.whole };
}

const wanted = { segment: null, halfWidth: 0.01 } as const;

describe('a sample by key', () => {
  test('shows stretch after stretch, each whole on the page, until all are reviewed', () => {
    const { workspace, app, said, shown, number } = begun();
    expect(startSample(workspace, app, wanted)).toBe(true);
    const seen = new Set<number>();
    const stretches = number().stretches;
    for (let n = 1; shown(); n++) {
      const { stretch } = shown()!;
      const page = pageSpan(workspace);
      expect(page.start).toBeLessThanOrEqual(stretch.start);
      expect(page.end).toBeGreaterThanOrEqual(stretch.end);
      seen.add(stretch.start);
      expect(takeShown(workspace, app, 'reviewed')).toBe(true);
      expect(number().reviewed).toBe(n);
    }
    expect(seen.size).toBe(stretches);
    expect(number().exact).toBe(true);
    // Half a second without signal, 59 intervals of one second each.
    expect(number().quality.value).toBeCloseTo((100 * 58.5) / 59, 1);
    expect(said()).toContain(`sampled, all ${stretches} stretches reviewed: 99.`);
    const { track } = sampledOf(workspace, 'chest-band')[0]!;
    expect(track.map(p => p.reviewed)).toEqual(Array.from({ length: stretches }, (_, n) => n + 1));
    const { value } = number().quality;
    expect(track.at(-1)).toEqual({ reviewed: stretches, estimate: value, interval: [value, value] });
  });

  test('goes back with undo, and goes on where it was left', () => {
    const { workspace, app, shown, number } = begun();
    startSample(workspace, app, wanted);
    const first = shown()!;
    takeShown(workspace, app, 'reviewed');
    expect(shown()).not.toEqual(first);
    takeBack(workspace, app, 'undo');
    expect(number().drawn).toBe(0);
    goOnWithSample(workspace, app);
    expect(shown()).toEqual(first);
    leaveSample(workspace);
    expect(sampledOnPage(workspace)).toBe(false);
    goOnWithSample(workspace, app);
    expect(shown()).toEqual(first);
  });

  test('skips a stretch and counts it apart', () => {
    const { workspace, app, shown, number } = begun();
    startSample(workspace, app, wanted);
    const first = shown()!;
    takeShown(workspace, app, 'skipped');
    takeShown(workspace, app, 'reviewed');
    expect(number()).toMatchObject({ drawn: 1, skipped: 1 });
    expect(shown()).not.toEqual(first);
  });

  test('is planned once, and not before the recording was analysed', () => {
    const early = begun(false);
    expect(startSample(early.workspace, early.app, wanted)).toBe(false);
    expect(early.said()).toContain('still being analysed');
    const { workspace, app, said } = begun();
    expect(goOnWithSample(workspace, app)).toBe(false);
    startSample(workspace, app, wanted);
    expect(startSample(workspace, app, wanted)).toBe(false);
    expect(said()).toContain('planned before');
  });

  test('judges nothing that is not whole on the page', () => {
    const { workspace, app, said, shown, number } = begun();
    expect(takeShown(workspace, app, 'reviewed')).toBe(false);
    startSample(workspace, app, wanted);
    const { stretch } = shown()!;
    workspace.view.setState({ mmPerSecond: 100 });
    expect(takeShown(workspace, app, 'reviewed')).toBe(false);
    expect(said()).toContain('the whole stretch must be on the page');
    workspace.view.setState({ mmPerSecond: 5 });
    expect(takeShown(workspace, app, 'reviewed')).toBe(false);
    expect(said()).toContain('Zoom in first');
    workspace.view.setState({ mmPerSecond: 25, startSec: stretch.start > 3000 ? 0 : 40, caret: 0 as SampleIndex });
    expect(sampledOnPage(workspace)).toBe(false);
    expect(number().drawn).toBe(0);
  });
});
