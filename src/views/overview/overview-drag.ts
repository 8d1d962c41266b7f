import type { Overview } from './overview';

export interface OverviewActs {
  /** The visible window should be centred on, or dragged to, this second. `grabbed` is true while the frame is held. */
  readonly go: (centreSeconds: number, grabbed: boolean) => void;
  /** Centre of the visible window now, seconds. */
  readonly centreSeconds: () => number;
  /** A stretch was drawn in the row of segments. Leave out where segments cannot be drawn. */
  readonly drawn?: (startSeconds: number, endSeconds: number) => void;
}

/** Dragging the frame keeps the place it was held at; pressing elsewhere goes there; dragging in the top row draws. */
export function attachOverviewDrag(host: HTMLElement, overview: Overview, acts: OverviewActs): () => void {
  let drag: { kind: 'frame'; offsetSeconds: number } | { kind: 'segment'; fromSeconds: number } | null = null;
  const down = (event: PointerEvent) => {
    const picked = event.button === 0 ? overview.pick(event.clientX, event.clientY) : null;
    if (!picked) return;
    host.setPointerCapture(event.pointerId);
    if (picked.row === 'segments' && acts.drawn) drag = { kind: 'segment', fromSeconds: picked.sec };
    else {
      if (!picked.onFrame) acts.go(picked.sec, false);
      drag = { kind: 'frame', offsetSeconds: picked.onFrame ? acts.centreSeconds() - picked.sec : 0 };
    }
  };
  const move = (event: PointerEvent) => {
    const picked = drag && overview.pick(event.clientX, event.clientY);
    if (!picked || !drag) return;
    if (drag.kind === 'frame') acts.go(picked.sec + drag.offsetSeconds, true);
    else overview.showDraft(ordered(drag.fromSeconds, picked.sec));
  };
  const up = (event: PointerEvent) => {
    const done = drag;
    drag = null;
    overview.showDraft(null);
    const picked = done?.kind === 'segment' ? overview.pick(event.clientX, event.clientY) : null;
    if (!picked || done?.kind !== 'segment') return;
    const { startSeconds, endSeconds } = ordered(done.fromSeconds, picked.sec);
    if (endSeconds - startSeconds >= 1) acts.drawn?.(startSeconds, endSeconds);
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

function ordered(a: number, b: number): { startSeconds: number; endSeconds: number } {
  return { startSeconds: Math.min(a, b), endSeconds: Math.max(a, b) };
}
