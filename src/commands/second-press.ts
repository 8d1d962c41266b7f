import type { UiStore } from '../state/stores/ui-store';

/** How soon after the first a second click is one of a double click, in ms: what systems set by default. */
const doubleMs = 500;
/** How far apart the two clicks of a double click may be, in CSS px. */
const nearPx = 8;

/** A key by its name with what is held, or where on the page was clicked. */
type Press = string | { readonly x: number; readonly y: number };

function pressOf(event: Event): Press {
  if (event.type !== 'keydown') {
    const { clientX: x, clientY: y } = event as MouseEvent;
    return { x, y };
  }
  const { key, ctrlKey, metaKey, shiftKey, altKey } = event as KeyboardEvent;
  return [key, ctrlKey, metaKey, shiftKey, altKey].join();
}

function isSame(a: Press | null, b: Press): boolean {
  if (a === null || typeof a === 'string' || typeof b === 'string') return a === b;
  return Math.hypot(a.x - b.x, a.y - b.y) <= nearPx;
}

/**
 * A sheet that did what it was asked, such as finishing a review, closes at the first click or Enter. The second one of a
 * double click would go to whatever lies beneath: it would move the caret, insert a mark or be refused, and the refusal
 * would stand where it was said that the review is finished. It is held back here. Returns what ends that.
 */
export function holdSecondPress(ui: Pick<UiStore, 'subscribe'>): () => void {
  let last: Press | null = null;
  let doneBy: Press | null = null;
  let doneAt = Number.NEGATIVE_INFINITY;
  const off = ui.subscribe((now, before) => {
    if (now.sheetsDone === before.sheetsDone) return;
    doneAt = performance.now();
    doneBy = last;
  });
  const stop = new AbortController();
  const hold = (event: Event) => {
    const press = pressOf(event);
    if (performance.now() - doneAt < doubleMs && isSame(doneBy, press)) {
      event.preventDefault();
      event.stopImmediatePropagation();
    } else if (event.type === 'keydown' || event.type === 'pointerdown') last = press;
  };
  for (const type of ['keydown', 'pointerdown', 'mousedown', 'click', 'dblclick'])
    window.addEventListener(type, hold, { capture: true, signal: stop.signal });
  return () => {
    off();
    stop.abort();
  };
}
