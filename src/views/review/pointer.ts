import { addUnreadableSpan, insertAt, move } from '../../commands/edits';
import { handTo, scrollTo, zoom } from '../../commands/showing';
import type { SampleIndex } from '../../core/units';
import type { App } from '../../state/app';
import { active, type Desk, putCaret } from '../../state/desk';
import { pageSeconds, rowSeconds } from '../../state/view-store';
import type { Picked } from '../strip-chart/model';
import type { StripChart } from '../strip-chart/strip-chart';

/** What is being dragged since `x`: a mark, an unreadable span from its first end, or the paper itself. */
type Drag =
  | { readonly kind: 'mark' | 'span'; readonly from: SampleIndex; readonly x: number }
  | { readonly kind: 'paper'; readonly startSec: number; readonly x: number };

/** A pointer that moved less has not dragged. */
const stillPx = 3;
/** Wheels that count in lines or pages: pixels for one of them. */
const wheelPx = [1, 16, 400];

/**
 * Everything the keys do with marks, for mouse, pen and finger: click, double click, drag a mark, drag a span in its
 * lane, drag the paper.
 */
export function attachPointer(host: HTMLElement, chart: StripChart, desk: Desk, app: App): () => void {
  let drag: Drag | null = null;

  const pick = (event: MouseEvent) => chart.pick(event.clientX, event.clientY);
  const take = (picked: Picked) => {
    handTo(desk, app, picked.recorderId);
    putCaret(desk, picked.nearMark ?? picked.sample, true);
  };
  const down = (event: PointerEvent) => {
    const picked = event.button === 0 ? pick(event) : null;
    if (!picked) return;
    take(picked);
    host.setPointerCapture(event.pointerId);
    drag = dragOf(desk, picked, event.clientX);
    if (drag.kind === 'span') desk.view.setState({ spanStart: drag.from });
  };
  const dragging = (event: PointerEvent) => {
    if (!drag || Math.abs(event.clientX - drag.x) < stillPx) return;
    if (drag.kind === 'paper') return scrollTo(desk, drag.startSec - secondsOf(desk, event.clientX - drag.x));
    const picked = pick(event);
    if (picked && drag.kind === 'span') putCaret(desk, picked.sample, true);
    if (picked && drag.kind === 'mark') chart.showDrag(drag.from, picked.sample);
  };
  const letGo = (): Drag | null => {
    const done = drag;
    drag = null;
    chart.showDrag(null, null);
    if (done?.kind === 'span') desk.view.setState({ spanStart: null });
    return done;
  };
  const up = (event: PointerEvent) => {
    const done = letGo();
    const picked = pick(event);
    if (!done || done.kind === 'paper' || !picked || Math.abs(event.clientX - done.x) < stillPx) return;
    const to = picked.sample as SampleIndex;
    if (done.kind === 'span') addUnreadableSpan(desk, app, done.from, to);
    else move(desk, app, done.from, to);
  };
  const cancel = () => void letGo();
  const double = (event: MouseEvent) => {
    const picked = pick(event);
    if (picked && picked.nearMark === null && picked.lane !== 'unreadable') {
      insertAt(desk, app, app.apexNear(desk, picked.sample as SampleIndex));
    }
  };
  const wheel = (event: WheelEvent) => {
    event.preventDefault();
    if (event.ctrlKey || event.metaKey) return void zoom(desk, app, event.deltaY < 0 ? 1 : -1);
    const view = desk.view.getState();
    const amount = Math.abs(event.deltaX) > Math.abs(event.deltaY) ? event.deltaX : event.deltaY;
    const pixels = amount * (wheelPx[event.deltaMode] ?? 1);
    scrollTo(desk, view.startSec + (pixels / view.geometry.widthPx) * pageSeconds(view, view.geometry));
  };
  host.addEventListener('pointerdown', down);
  host.addEventListener('pointermove', dragging);
  host.addEventListener('pointerup', up);
  host.addEventListener('pointercancel', cancel);
  host.addEventListener('dblclick', double);
  host.addEventListener('wheel', wheel, { passive: false });
  return () => {
    host.removeEventListener('pointerdown', down);
    host.removeEventListener('pointermove', dragging);
    host.removeEventListener('pointerup', up);
    host.removeEventListener('pointercancel', cancel);
    host.removeEventListener('dblclick', double);
    host.removeEventListener('wheel', wheel);
  };
}

/** What a press takes hold of, once the caret is there. */
function dragOf(desk: Desk, picked: Picked, x: number): Drag {
  const { selected } = active(desk);
  if (picked.lane === 'unreadable') return { kind: 'span', from: picked.sample as SampleIndex, x };
  if (selected !== null) return { kind: 'mark', from: selected, x };
  return { kind: 'paper', startSec: desk.view.getState().startSec, x };
}

function secondsOf(desk: Desk, pixels: number): number {
  const view = desk.view.getState();
  return (pixels / view.geometry.widthPx) * rowSeconds(view, view.geometry);
}
