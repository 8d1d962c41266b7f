interface Part {
  readonly from: readonly unknown[];
  readonly value: unknown;
}

/**
 * Parts of a report that were worked out before, each with what it was worked out from, so that a report made again works
 * out only what has changed. The numbers are the same with and without.
 */
export class KeptWork {
  private before = new Map<string, Part>();
  private now = new Map<string, Part>();

  /**
   * The part of this name: made unless all it depends on is the same as when it was made before, objects by identity and
   * the rest by value. Objects must therefore never change.
   */
  of<T>(name: string, from: readonly unknown[], make: () => T): T {
    const known = this.now.get(name) ?? this.before.get(name);
    const part = known && isSame(known.from, from) ? known : { from, value: make() };
    this.now.set(name, part);
    return part.value as T;
  }

  /** At the end of a report: what it had no use for is forgotten. */
  finish(): void {
    this.before = this.now;
    this.now = new Map();
  }
}

function isSame(a: readonly unknown[], b: readonly unknown[]): boolean {
  return a.length === b.length && a.every((value, i) => Object.is(value, b[i]));
}
