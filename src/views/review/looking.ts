/** A page shown this long at a readable scale has plausibly been looked at. */
const lookMs = 900;
/** The hand that brought a page up acted at most this long before it. */
const actBeforeMs = 1000;

export interface LookedAtPage {
  /** What makes the page another one: recorder, place, scale. Null at a scale at which nothing counts. */
  page(): string | null;
  visible(): boolean;
  /** Milliseconds of a clock that only goes forward. */
  now(): number;
  /** The page has been looked at. */
  seen(): void;
}

/**
 * Decides when a page has been seen: it stood still at a readable scale for a plausible time, in a visible window, and a
 * person was there: a key pressed once, a pointer or a wheel brought it up or was used on it. Opening a session, a key
 * held down and a window in the background do not count.
 */
export class Looking {
  private shown: string | null = null;
  private shownAt = 0;
  private actedAt = Number.NEGATIVE_INFINITY;
  private done = false;
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor(private readonly looked: LookedAtPage) {
    this.shown = looked.page();
    this.begin();
  }

  /** The page may have changed. */
  changed(): void {
    const page = this.looked.page();
    if (page === this.shown) return;
    this.shown = page;
    this.begin();
  }

  /** A person has done something. */
  acted(): void {
    this.actedAt = this.looked.now();
    // What the act does to the page comes first.
    if (!this.done) this.checkIn(0);
  }

  /** The window came to the front or went behind: looking begins again. */
  turned(): void {
    if (!this.done) this.begin();
  }

  stop(): void {
    clearTimeout(this.timer);
  }

  private begin(): void {
    this.shownAt = this.looked.now();
    this.done = false;
    this.checkIn(lookMs);
  }

  private checkIn(ms: number): void {
    clearTimeout(this.timer);
    if (this.shown !== null) this.timer = setTimeout(() => this.check(), ms);
  }

  private check(): void {
    const stood = this.looked.now() - this.shownAt;
    if (stood < lookMs) {
      this.checkIn(lookMs - stood);
      return;
    }
    if (!this.looked.visible() || this.actedAt < this.shownAt - actBeforeMs) return;
    this.done = true;
    this.looked.seen();
  }
}

/** Tells `looking` what happens in this window; returns what stops it. */
export function attachLooking(looking: Looking): () => void {
  const stop = new AbortController();
  const { signal } = stop;
  const act = () => looking.acted();
  const options = { signal, capture: true, passive: true };
  window.addEventListener('keydown', event => event.repeat || act(), options);
  for (const type of ['keyup', 'pointerdown', 'pointermove', 'wheel'] as const)
    window.addEventListener(type, act, options);
  document.addEventListener('visibilitychange', () => looking.turned(), { signal });
  return () => {
    stop.abort();
    looking.stop();
  };
}
