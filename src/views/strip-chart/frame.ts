/** Draws at most once per animation frame and only when asked; says when nothing is left to draw. */
export class FrameLoop {
  private request = 0;
  private timer: ReturnType<typeof setTimeout> | 0 = 0;
  private waiting: (() => void)[] = [];

  constructor(private readonly draw: () => void) {}

  ask(): void {
    if (this.request === 0) this.request = requestAnimationFrame(() => this.run());
  }

  /** Runs `before` and draws, once nobody has asked for this for so long. */
  askLater(delayMs: number, before: () => void): void {
    if (this.timer !== 0) clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      this.timer = 0;
      before();
      this.ask();
    }, delayMs);
  }

  /** Resolves when every asked frame has been drawn; at once when there is none. */
  whenIdle(): Promise<void> {
    if (this.isQuiet()) return Promise.resolve();
    return new Promise(resolve => this.waiting.push(resolve));
  }

  stop(): void {
    cancelAnimationFrame(this.request);
    if (this.timer !== 0) clearTimeout(this.timer);
    this.request = 0;
    this.timer = 0;
    this.settle();
  }

  private isQuiet(): boolean {
    return this.request === 0 && this.timer === 0;
  }

  private run(): void {
    this.request = 0;
    try {
      this.draw();
    } finally {
      if (this.isQuiet()) this.settle();
    }
  }

  private settle(): void {
    const waiting = this.waiting;
    this.waiting = [];
    for (const resolve of waiting) resolve();
  }
}

/**
 * Acts once for all that is asked in one event, after React has shown it and before the next frame: numbers do not wait for
 * what a picture of them needs.
 */
export class AfterReact {
  private asked = false;
  private stopped = false;

  constructor(private readonly act: () => void) {}

  readonly ask = (): void => {
    if (this.asked) return;
    this.asked = true;
    // React shows what a store has changed in a microtask of the same event: this is the one after it.
    queueMicrotask(() => queueMicrotask(() => this.run()));
  };

  readonly stop = (): void => {
    this.stopped = true;
  };

  private run(): void {
    this.asked = false;
    if (!this.stopped) this.act();
  }
}
