import { addUnreadableSpan, insertAt, move } from '../../commands/edits';
import { zoom } from '../../commands/showing';
import type { SampleIndex } from '../../core/units';
import type { App } from '../../state/app';
import { active, clampStart, type Desk, putCaret } from '../../state/desk';
import { pageSeconds } from '../../state/view-store';
import type { Picked } from '../strip-chart/model';
import type { StripChart } from '../strip-chart/strip-chart';

/** Everything the keys do with marks, for mouse, pen and finger: click, double click, drag a mark, drag a span. */
export function attachPointer(host: HTMLElement, chart: StripChart, desk: Desk, app: App): () => void {
  let drag: { kind: 'mark' | 'span'; from: SampleIndex; x: number } | null = null;

  const pick = (event: MouseEvent) => chart.pick(event.clientX, event.clientY);
  const take = (picked: Picked) => {
    if (picked.recorderId !== desk.view.getState().recordingId) app.runCommand('recorder.other');
    putCaret(desk, picked.nearMark ?? picked.sample, true);
  };
  const down = (event: PointerEvent) => {
    const picked = event.button === 0 ? pick(event) : null;
    if (!picked) return;
    take(picked);
    host.setPointerCapture(event.pointerId);
    const { selected } = active(desk);
    if (picked.lane === 'unreadable') drag = { kind: 'span', from: picked.sample as SampleIndex, x: event.clientX };
    else if (selected !== null) drag = { kind: 'mark', from: selected, x: event.clientX };
    if (drag?.kind === 'span') desk.view.setState({ spanStart: drag.from });
  };
  const dragging = (event: PointerEvent) => {
    if (!drag || Math.abs(event.clientX - drag.x) < 3) return;
    const picked = pick(event);
    if (picked && drag.kind === 'span') putCaret(desk, picked.sample, true);
    if (picked && drag.kind === 'mark') chart.showDrag(drag.from, picked.sample);
  };
  const up = (event: PointerEvent) => {
    const done = drag;
    drag = null;
    chart.showDrag(null, null);
    if (!done) return;
    if (done.kind === 'span') desk.view.setState({ spanStart: null });
    const picked = pick(event);
    if (!picked || Math.abs(event.clientX - done.x) < 3) return;
    const to = picked.sample as SampleIndex;
    if (done.kind === 'span') addUnreadableSpan(desk, app, done.from, to);
    else move(desk, app, done.from, to);
  };
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
    const seconds = (amount / view.geometry.widthPx) * pageSeconds(view, view.geometry);
    desk.view.setState({ startSec: clampStart(desk, view.startSec + seconds) });
  };
  host.addEventListener('pointerdown', down);
  host.addEventListener('pointermove', dragging);
  host.addEventListener('pointerup', up);
  host.addEventListener('dblclick', double);
  host.addEventListener('wheel', wheel, { passive: false });
  return () => {
    host.removeEventListener('pointerdown', down);
    host.removeEventListener('pointermove', dragging);
    host.removeEventListener('pointerup', up);
    host.removeEventListener('dblclick', double);
    host.removeEventListener('wheel', wheel);
  };
}
