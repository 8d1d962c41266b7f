import { describe, expect, test } from 'vitest';
import { changeRows, fitRows, zoom } from '../../../src/commands/display';
import { removeAtCaret, takeBack } from '../../../src/commands/edits';
import { goTo, stepMark, stepRow, turnPage } from '../../../src/commands/navigate';
import { perform } from '../../../src/commands/perform';
import { acceptAndTurn } from '../../../src/commands/places';
import {
  acceptStretches,
  goOnWithSample,
  leaveSample,
  sampledOnPage,
  skipStretch,
  startSample,
} from '../../../src/commands/sampling';
import type { SampleIndex } from '../../../src/core/units';
import { planFor, sampledOf } from '../../../src/state/review/sampling';
import { pageSpan, pageSpans } from '../../../src/state/review/workspace';
import { rowsApart } from '../../../src/state/stores/view-store';
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
      const { stretch } = shown()!.rows[0]!;
      const page = pageSpan(workspace);
      expect(page.start).toBeLessThanOrEqual(stretch.start);
      expect(page.end).toBeGreaterThanOrEqual(stretch.end);
      seen.add(stretch.start);
      expect(acceptStretches(workspace, app)).toBe(true);
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
    acceptStretches(workspace, app);
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
    skipStretch(workspace, app);
    acceptStretches(workspace, app);
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
    expect(acceptStretches(workspace, app)).toBe(false);
    startSample(workspace, app, wanted);
    const { stretch } = shown()!.rows[0]!;
    workspace.view.setState({ mmPerSecond: 5 });
    expect(acceptStretches(workspace, app)).toBe(false);
    expect(said()).toContain('No stretch of a sample is shown');
    workspace.view.setState({ geometry: { widthPx: 200, rowsThatFit: 1 } });
    goOnWithSample(workspace, app);
    expect(sampledOnPage(workspace)).toBe(true);
    expect(acceptStretches(workspace, app)).toBe(false);
    expect(said()).toContain('too narrow');
    workspace.view.setState({ mmPerSecond: 25, startSeconds: stretch.start > 3000 ? 0 : 40, caret: 0 as SampleIndex });
    expect(sampledOnPage(workspace)).toBe(false);
    expect(number().drawn).toBe(0);
  });
});

describe('a page with room for three stretches', () => {
  function onPage() {
    const opened = begun();
    const { view } = opened.workspace;
    view.setState({ geometry: { widthPx: 1000, rowsThatFit: 3 } });
    // A seed of its own: the same stretches whenever this runs.
    const plan = planFor(opened.workspace, wanted, 5)!;
    perform(opened.workspace, opened.app, 'sample', [{ op: 'samplePlan', before: null, after: plan }]);
    goOnWithSample(opened.workspace, opened.app);
    const rows = () => rowsApart(view.getState())!;
    const caret = () => view.getState().caret;
    return { ...opened, view, rows, caret };
  }

  test('has each in a row of its own, in the order of time and with its context', () => {
    const { workspace, rows, caret } = onPage();
    expect(rows()).toHaveLength(3);
    const starts = rows().map(r => r.stretch.start);
    expect(starts).toEqual([...starts].sort((a, b) => a - b));
    for (const [i, { start, end }] of pageSpans(workspace).entries()) {
      const { stretch } = rows()[i]!;
      expect(start).toBeLessThanOrEqual(Math.max(0, stretch.start - 200));
      expect(end).toBeGreaterThanOrEqual(Math.min(6000, stretch.end + 200));
    }
    expect(caret()).toBeGreaterThanOrEqual(rows()[0]!.stretch.start);
    expect(caret()).toBeLessThan(rows()[0]!.stretch.end);
  });

  test('is accepted with one key, as one act, and the next ones are shown', () => {
    const { workspace, app, rows, number, caret } = onPage();
    const entries = workspace.review.get().log.entries.length;
    const first = rows().map(r => r.stretch.start);
    expect(acceptAndTurn(workspace, app)).toBe(true);
    expect(workspace.review.get().log.entries).toHaveLength(entries + 1);
    expect(number()).toMatchObject({ drawn: 3, reviewed: 3 });
    expect(rows().some(r => first.includes(r.stretch.start))).toBe(false);
    const next = rows().map(r => r.stretch.start);
    takeBack(workspace, app, 'undo');
    expect(number().drawn).toBe(0);
    // What was taken back is shown again, and what comes after it where that is done again.
    expect(rows().map(r => r.stretch.start)).toEqual(first);
    expect(pageSpans(workspace).some(s => caret() >= s.start && caret() < s.end)).toBe(true);
    takeBack(workspace, app, 'redo');
    expect(rows().map(r => r.stretch.start)).toEqual(next);
    expect(number().drawn).toBe(3);
    expect(pageSpans(workspace).some(s => caret() >= s.start && caret() < s.end)).toBe(true);
  });

  test('gives the number that its stretches give one by one', () => {
    const page = onPage();
    for (let n = 0; n < 2; n++) acceptStretches(page.workspace, page.app);
    const plan = page.workspace.review.get().replayed.recordings.get('chest-band')!.samplePlans[0]!;
    const one = begun();
    perform(one.workspace, one.app, 'sample', [{ op: 'samplePlan', before: null, after: plan }]);
    goOnWithSample(one.workspace, one.app);
    for (let n = 0; n < 6; n++) acceptStretches(one.workspace, one.app);
    expect(page.number()).toEqual(one.number());
    expect(one.number().drawn).toBe(6);
  });

  test('steps from the last mark of a row to the first of the next, and no further than the page', () => {
    const { workspace, app, rows, caret, said } = onPage();
    const spans = pageSpans(workspace);
    for (let n = 0; n < 60 && stepMark(workspace, app, 1); n++) {
      expect(spans.some(s => caret() >= s.start && caret() < s.end)).toBe(true);
    }
    expect(said()).toMatch(/Last mark of these stretches|No mark after/);
    expect(caret()).toBeGreaterThanOrEqual(rows()[2]!.stretch.start);
    expect(rows()).toHaveLength(3);
    for (let n = 0; n < 60 && stepMark(workspace, app, -1); n++) expect(rows()).toHaveLength(3);
    expect(caret()).toBeLessThan(rows()[0]!.stretch.end);
  });

  test('keeps a skipped stretch in its row, and leaves it out', () => {
    const { workspace, app, rows, caret, said, number } = onPage();
    const [first, second] = rows();
    expect(skipStretch(workspace, app)).toBe(true);
    expect(rows().map(r => r.skipped)).toEqual([true, false, false]);
    expect(caret()).toBeGreaterThanOrEqual(second!.stretch.start);
    workspace.view.setState({ caret: first!.stretch.start });
    expect(skipStretch(workspace, app)).toBe(false);
    expect(said()).toBe('This stretch is skipped already.');
    acceptStretches(workspace, app);
    expect(number()).toMatchObject({ drawn: 2, skipped: 1 });
    // It comes again once nothing else is left.
    for (let n = 0; n < 3; n++) acceptStretches(workspace, app);
    expect(rows().map(r => r.stretch)).toEqual([first!.stretch]);
    acceptStretches(workspace, app);
    expect(number()).toMatchObject({ skipped: 0, exact: true });
    expect(sampledOnPage(workspace)).toBe(false);
  });

  test('stands while its marks are corrected, and is left for another place and found again', () => {
    const { workspace, app, rows, view, said } = onPage();
    const page = rows();
    removeAtCaret(workspace, app);
    goTo(workspace, page[2]!.stretch.start + 30);
    stepRow(workspace, -1);
    expect(rows()).toBe(page);
    expect(turnPage(workspace, app, 1)).toBe(false);
    expect(said()).toContain('Accept these stretches');
    const shown = pageSpans(workspace);
    const elsewhere = [...Array(60).keys()].map(s => 100 * s).find(s => shown.every(x => s < x.start || s >= x.end))!;
    goTo(workspace, elsewhere);
    expect(rowsApart(view.getState())).toBeNull();
    expect(skipStretch(workspace, app)).toBe(false);
    goOnWithSample(workspace, app);
    expect(rows()).toEqual(page);
  });

  test('follows the size of the page and the paper speed', () => {
    const { workspace, app, rows, view } = onPage();
    zoom(workspace, app, -1);
    expect(view.getState().mmPerSecond).toBe(12.5);
    expect(rows()).toHaveLength(3);
    // Too fast for a stretch with its context: one place on its own, until the sample goes on.
    zoom(workspace, app, 1);
    zoom(workspace, app, 1);
    expect(rowsApart(view.getState())).toBeNull();
    goOnWithSample(workspace, app);
    expect(view.getState().mmPerSecond).toBe(25);
    fitRows(workspace, { widthPx: 500, rowsThatFit: 2 });
    expect(rows()).toHaveLength(2);
    expect(view.getState().mmPerSecond).toBe(12.5);
    expect(changeRows(workspace, app)).toBe(false);
    expect(rows()).toHaveLength(2);
  });
});
