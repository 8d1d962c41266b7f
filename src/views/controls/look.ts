/** The root's font size in page.css where the browser's own is the usual 16 px, and with large text chosen on the page. */
const usualPx = 14;
const largePx = 18;

let browserScale = 0;

/** How much larger than usual words are drawn: what the browser is set to, and large text on top of it. */
export function textScale(largeText: boolean): number {
  // Asked in every frame, so measured once: it needs the styles.
  browserScale ||= measuredScale();
  return browserScale * (largeText ? largePx / usualPx : 1);
}

function measuredScale(): number {
  const root = document.documentElement;
  const now = Number.parseFloat(getComputedStyle(root).fontSize);
  return now / (root.classList.contains('large-text') ? largePx : usualPx);
}

const lists = ['(prefers-color-scheme: dark)', '(forced-colors: active)'].map(query => matchMedia(query));

/** Names the colours in force: the person's choice, and what the system says to it. */
export function colours(theme: string): string {
  return `${theme} ${lists[0]!.matches} ${lists[1]!.matches}`;
}

/** Calls when the system changes its colours; returns what stops it. */
export function watchColours(changed: () => void): () => void {
  for (const list of lists) list.addEventListener('change', changed);
  return () => {
    for (const list of lists) list.removeEventListener('change', changed);
  };
}
