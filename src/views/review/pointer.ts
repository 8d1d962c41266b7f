import { activateRecorder, saySpeed, scrollTo, secondsAt, zoom, zoomTo } from '../../commands/display';
import { addUnreadableSpan, insertNear, move } from '../../commands/edits';
import type { SampleIndex } from '../../core/units';
import type { App } from '../../state/app';
import { active, putCaret, type ReviewWorkspace } from '../../state/review/workspace';
import { pageSeconds, rowSeconds } from '../../state/stores/view-store';
import type { Picked } from '../strip-chart/model';
import type { PointerKind } from '../strip-chart/pick';
import type { StripChart } from '../strip-chart/strip-chart';
import { Pinch } from './pinch';

/**
 * What is being dragged since `x`: a mark, an unreadable span from its first end, or the paper itself. `held` is how many
 * samples beside the pointer it was taken, so that it does not jump under the finger.
 */
type Drag =
  | { readonly kind: 'mark' | 'span'; readonly from: SampleIndex; readonly held: number; readonly x: number }
  | { readonly kind: 'paper'; readonly startSeconds: number; readonly x: number };

/** A pointer that moved less has not dragged. */
const stillPx = 3;
const stillTouchPx = 8;
/** Wheels that count in lines or pages: pixels for one of them. */
const wheelPx = [1, 16, 400];

/**
 * Everything the keys do with marks, for mouse, pen and finger: click, double click, drag a mark, drag a span in its
 * lane, drag the paper; two fingers push and zoom it.
 */
export function attachPointer(host: HTMLElement, chart: StripChart, workspace: ReviewWorkspace, app: App): () => void {
  let drag: Drag | null = null;
  let pointer: PointerKind = 'mouse';
  const placeAt = (x: number, y: number) => {
    return (chart.pick(x, y, pointer)?.rowIndex ?? 0) + shareOfRow(host, workspace, x);
  };
  const pinch = new Pinch(workspace, app, placeAt);

  const pick = (event: MouseEvent) => chart.pick(event.clientX, event.clientY, pointer);
  const still = (x: number, from: number) => Math.abs(x - from) < (pointer === 'touch' ? stillTouchPx : stillPx);
  const take = (picked: Picked) => {
    activateRecorder(workspace, app, picked.recorderId);
    putCaret(workspace, picked.nearMark ?? picked.sample, true);
  };
  const down = (event: PointerEvent) => {
    pointer = event.pointerType === 'touch' || event.pointerType === 'pen' ? event.pointerType : 'mouse';
    if (pinch.down(event)) letGo();
    const picked = event.button === 0 && !pinch.active ? pick(event) : null;
    if (!picked) return;
    take(picked);
    host.setPointerCapture(event.pointerId);
    drag = dragOf(workspace, picked, event.clientX);
    if (drag.kind === 'span') workspace.view.setState({ spanStart: drag.from });
  };
  const dragging = (event: PointerEvent) => {
    pinch.move(event);
    if (!drag || still(event.clientX, drag.x)) return;
    if (drag.kind === 'paper')
      return scrollTo(workspace, drag.startSeconds - secondsOf(workspace, event.clientX - drag.x));
    const picked = pick(event);
    if (picked && drag.kind === 'span') putCaret(workspace, picked.sample, true);
    if (picked && drag.kind === 'mark') chart.showDrag(drag.from, placeOf(drag, picked, workspace));
  };
  const letGo = (): Drag | null => {
    const done = drag;
    drag = null;
    chart.showDrag(null, null);
    if (done?.kind === 'span') workspace.view.setState({ spanStart: null });
    return done;
  };
  const up = (event: PointerEvent) => {
    pinch.up(event);
    const done = letGo();
    const picked = pick(event);
    if (!done || done.kind === 'paper' || !picked || still(event.clientX, done.x)) return;
    const to = placeOf(done, picked, workspace);
    if (done.kind === 'span') addUnreadableSpan(workspace, app, done.from, to);
    else move(workspace, app, done.from, to);
  };
  const cancel = (event: PointerEvent) => {
    pinch.up(event);
    letGo();
  };
  const double = (event: MouseEvent) => {
    const picked = pick(event);
    if (picked && picked.nearMark === null && picked.lane !== 'unreadable') {
      insertNear(workspace, app, picked.sample as SampleIndex);
    }
  };
  const stop = new AbortController();
  const { signal } = stop;
  host.addEventListener('pointerdown', down, { signal });
  host.addEventListener('pointermove', dragging, { signal });
  host.addEventListener('pointerup', up, { signal });
  host.addEventListener('pointercancel', cancel, { signal });
  host.addEventListener('dblclick', double, { signal });
  host.addEventListener('wheel', e => turnWheel(e, workspace, app, placeAt), { signal, passive: false });
  return () => stop.abort();
}

/** How far along its row an x of the screen is, in [0, 1). */
function shareOfRow(host: HTMLElement, workspace: ReviewWorkspace, x: number): number {
  const { widthPx } = workspace.view.getState().geometry;
  const share = (x - (host.getBoundingClientRect().right - widthPx)) / widthPx;
  return Math.min(1 - 1e-9, Math.max(0, share));
}

/** A notch of a wheel is at least this much; two fingers on a touchpad give far smaller amounts. */
const notchPx = 40;

/** With Control held, as browsers also report two fingers on a touchpad: around the pointer, a notch as one step. */
function zoomByWheel(event: WheelEvent, workspace: ReviewWorkspace, app: App, place: number): void {
  const pixels = event.deltaY * (wheelPx[event.deltaMode] ?? 1);
  if (Math.abs(pixels) >= notchPx) return void zoom(workspace, app, pixels < 0 ? 1 : -1, place);
  const { mmPerSecond } = workspace.view.getState();
  zoomTo(workspace, mmPerSecond * Math.exp(-pixels / 100), secondsAt(workspace, place), place);
  saySpeed(workspace, app);
}

/** Scrolls, or zooms with Control held. */
function turnWheel(
  event: WheelEvent,
  workspace: ReviewWorkspace,
  app: App,
  placeAt: (x: number, y: number) => number,
): void {
  event.preventDefault();
  if (event.ctrlKey || event.metaKey) {
    zoomByWheel(event, workspace, app, placeAt(event.clientX, event.clientY));
    return;
  }
  const view = workspace.view.getState();
  const amount = Math.abs(event.deltaX) > Math.abs(event.deltaY) ? event.deltaX : event.deltaY;
  const pixels = amount * (wheelPx[event.deltaMode] ?? 1);
  scrollTo(workspace, view.startSeconds + (pixels / view.geometry.widthPx) * pageSeconds(view, view.geometry));
}

/** What a press takes hold of, once the caret is there. */
function dragOf(workspace: ReviewWorkspace, picked: Picked, x: number): Drag {
  const { selected } = active(workspace);
  if (picked.lane === 'unreadable') return { kind: 'span', from: picked.sample as SampleIndex, held: 0, x };
  if (selected !== null) return { kind: 'mark', from: selected, held: selected - picked.sample, x };
  return { kind: 'paper', startSeconds: workspace.view.getState().startSeconds, x };
}

/** Where what is dragged would be dropped now. */
function placeOf(drag: Exclude<Drag, { kind: 'paper' }>, picked: Picked, workspace: ReviewWorkspace): SampleIndex {
  return Math.min(active(workspace).lastSample, Math.max(0, picked.sample + drag.held)) as SampleIndex;
}

function secondsOf(workspace: ReviewWorkspace, pixels: number): number {
  const view = workspace.view.getState();
  return (pixels / view.geometry.widthPx) * rowSeconds(view, view.geometry);
}
