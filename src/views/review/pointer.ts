import { handTo, scrollTo, zoom } from '../../commands/display';
import { addUnreadableSpan, insertNear, move } from '../../commands/edits';
import type { SampleIndex } from '../../core/units';
import type { App } from '../../state/app';
import { active, type Desk, putCaret } from '../../state/review/workspace';
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
  | { readonly kind: 'paper'; readonly startSec: number; readonly x: number };

/** A pointer that moved less has not dragged. */
const stillPx = 3;
const stillTouchPx = 8;
/** Wheels that count in lines or pages: pixels for one of them. */
const wheelPx = [1, 16, 400];

/**
 * Everything the keys do with marks, for mouse, pen and finger: click, double click, drag a mark, drag a span in its
 * lane, drag the paper; two fingers push and zoom it.
 */
export function attachPointer(host: HTMLElement, chart: StripChart, desk: Desk, app: App): () => void {
  let drag: Drag | null = null;
  let pointer: PointerKind = 'mouse';
  const pinch = new Pinch(desk, app);

  const pick = (event: MouseEvent) => chart.pick(event.clientX, event.clientY, pointer);
  const still = (x: number, from: number) => Math.abs(x - from) < (pointer === 'touch' ? stillTouchPx : stillPx);
  const take = (picked: Picked) => {
    handTo(desk, app, picked.recorderId);
    putCaret(desk, picked.nearMark ?? picked.sample, true);
  };
  const down = (event: PointerEvent) => {
    pointer = event.pointerType === 'touch' || event.pointerType === 'pen' ? event.pointerType : 'mouse';
    if (pinch.down(event)) letGo();
    const picked = event.button === 0 && !pinch.active ? pick(event) : null;
    if (!picked) return;
    take(picked);
    host.setPointerCapture(event.pointerId);
    drag = dragOf(desk, picked, event.clientX);
    if (drag.kind === 'span') desk.view.setState({ spanStart: drag.from });
  };
  const dragging = (event: PointerEvent) => {
    pinch.move(event);
    if (!drag || still(event.clientX, drag.x)) return;
    if (drag.kind === 'paper') return scrollTo(desk, drag.startSec - secondsOf(desk, event.clientX - drag.x));
    const picked = pick(event);
    if (picked && drag.kind === 'span') putCaret(desk, picked.sample, true);
    if (picked && drag.kind === 'mark') chart.showDrag(drag.from, placeOf(drag, picked, desk));
  };
  const letGo = (): Drag | null => {
    const done = drag;
    drag = null;
    chart.showDrag(null, null);
    if (done?.kind === 'span') desk.view.setState({ spanStart: null });
    return done;
  };
  const up = (event: PointerEvent) => {
    pinch.up(event);
    const done = letGo();
    const picked = pick(event);
    if (!done || done.kind === 'paper' || !picked || still(event.clientX, done.x)) return;
    const to = placeOf(done, picked, desk);
    if (done.kind === 'span') addUnreadableSpan(desk, app, done.from, to);
    else move(desk, app, done.from, to);
  };
  const cancel = (event: PointerEvent) => {
    pinch.up(event);
    letGo();
  };
  const double = (event: MouseEvent) => {
    const picked = pick(event);
    if (picked && picked.nearMark === null && picked.lane !== 'unreadable') {
      insertNear(desk, app, picked.sample as SampleIndex);
    }
  };
  const stop = new AbortController();
  const { signal } = stop;
  host.addEventListener('pointerdown', down, { signal });
  host.addEventListener('pointermove', dragging, { signal });
  host.addEventListener('pointerup', up, { signal });
  host.addEventListener('pointercancel', cancel, { signal });
  host.addEventListener('dblclick', double, { signal });
  host.addEventListener('wheel', event => turnWheel(event, desk, app), { signal, passive: false });
  return () => stop.abort();
}

/** Scrolls, or zooms with Control held. */
function turnWheel(event: WheelEvent, desk: Desk, app: App) {
  event.preventDefault();
  if (event.ctrlKey || event.metaKey) return void zoom(desk, app, event.deltaY < 0 ? 1 : -1);
  const view = desk.view.getState();
  const amount = Math.abs(event.deltaX) > Math.abs(event.deltaY) ? event.deltaX : event.deltaY;
  const pixels = amount * (wheelPx[event.deltaMode] ?? 1);
  scrollTo(desk, view.startSec + (pixels / view.geometry.widthPx) * pageSeconds(view, view.geometry));
}

/** What a press takes hold of, once the caret is there. */
function dragOf(desk: Desk, picked: Picked, x: number): Drag {
  const { selected } = active(desk);
  if (picked.lane === 'unreadable') return { kind: 'span', from: picked.sample as SampleIndex, held: 0, x };
  if (selected !== null) return { kind: 'mark', from: selected, held: selected - picked.sample, x };
  return { kind: 'paper', startSec: desk.view.getState().startSec, x };
}

/** Where what is dragged would be let go now. */
function placeOf(drag: Exclude<Drag, { kind: 'paper' }>, picked: Picked, desk: Desk): SampleIndex {
  return Math.min(active(desk).lastSample, Math.max(0, picked.sample + drag.held)) as SampleIndex;
}

function secondsOf(desk: Desk, pixels: number): number {
  const view = desk.view.getState();
  return (pixels / view.geometry.widthPx) * rowSeconds(view, view.geometry);
}
