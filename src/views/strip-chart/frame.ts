/** Draws at most once per animation frame and only when asked; says when nothing is left to draw. */
export class FrameLoop {
  #request = 0;
  #waiting: (() => void)[] = [];

  constructor(private readonly draw: () => void) {}

  ask(): void {
    if (this.#request === 0) this.#request = requestAnimationFrame(() => this.#run());
  }

  /** Resolves when every asked frame has been drawn; at once when there is none. */
  whenIdle(): Promise<void> {
    if (this.#request === 0) return Promise.resolve();
    return new Promise(resolve => this.#waiting.push(resolve));
  }

  stop(): void {
    cancelAnimationFrame(this.#request);
    this.#request = 0;
    this.#settle();
  }

  #run(): void {
    this.#request = 0;
    try {
      this.draw();
    } finally {
      if (this.#request === 0) this.#settle();
    }
  }

  #settle(): void {
    const waiting = this.#waiting;
    this.#waiting = [];
    for (const resolve of waiting) resolve();
  }
}
