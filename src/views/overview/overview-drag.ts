import type { Overview } from './overview';

export interface OverviewActs {
  /** The visible window should be centred on, or dragged to, this second. `grabbed` is true while the frame is held. */
  readonly go: (centreSec: number, grabbed: boolean) => void;
  /** Centre of the visible window now, seconds. */
  readonly centreSec: () => number;
  /** A stretch was drawn in the row of segments. Leave out where segments cannot be drawn. */
  readonly drawn?: (startSec: number, endSec: number) => void;
}

/** Dragging the frame keeps the place it was held at; pressing elsewhere goes there; dragging in the top row draws. */
export function attachOverviewDrag(host: HTMLElement, overview: Overview, acts: OverviewActs): () => void {
  let drag: { kind: 'frame'; offsetSec: number } | { kind: 'segment'; fromSec: number } | null = null;
  const down = (event: PointerEvent) => {
    const picked = event.button === 0 ? overview.pick(event.clientX, event.clientY) : null;
    if (!picked) return;
    host.setPointerCapture(event.pointerId);
    if (picked.row === 'segments' && acts.drawn) drag = { kind: 'segment', fromSec: picked.sec };
    else {
      if (!picked.onFrame) acts.go(picked.sec, false);
      drag = { kind: 'frame', offsetSec: picked.onFrame ? acts.centreSec() - picked.sec : 0 };
    }
  };
  const move = (event: PointerEvent) => {
    const picked = drag && overview.pick(event.clientX, event.clientY);
    if (!picked || !drag) return;
    if (drag.kind === 'frame') acts.go(picked.sec + drag.offsetSec, true);
    else overview.showDraft(ordered(drag.fromSec, picked.sec));
  };
  const up = (event: PointerEvent) => {
    const done = drag;
    drag = null;
    overview.showDraft(null);
    const picked = done?.kind === 'segment' ? overview.pick(event.clientX, event.clientY) : null;
    if (!picked || done?.kind !== 'segment') return;
    const { startSec, endSec } = ordered(done.fromSec, picked.sec);
    if (endSec - startSec >= 1) acts.drawn?.(startSec, endSec);
    else acts.go(picked.sec, false);
  };
  const cancel = () => {
    drag = null;
    overview.showDraft(null);
  };
  host.addEventListener('pointerdown', down);
  host.addEventListener('pointermove', move);
  host.addEventListener('pointerup', up);
  host.addEventListener('pointercancel', cancel);
  return () => {
    host.removeEventListener('pointerdown', down);
    host.removeEventListener('pointermove', move);
    host.removeEventListener('pointerup', up);
    host.removeEventListener('pointercancel', cancel);
  };
}

function ordered(a: number, b: number): { startSec: number; endSec: number } {
  return { startSec: Math.min(a, b), endSec: Math.max(a, b) };
}
