import type { Capital, DrawHistory } from './bets';

/** The start: (j / 128)^2, close together where quality is high. Exact in binary, as are all midpoints made of them. */
const startCells = 128;
/** Fewer candidates than this inside, and more are put between them. */
const fewest = 4;
/** Ends are found to within 2^-22, 2.4e-7, and given on the outer side. */
const resolution = 2 ** -22;
/** Where no candidate is left, the place between too small and too large is looked for down to this. */
const finest = 2 ** -36;

/**
 * The shares p of wrong intervals that are still possible: a grid, refined between the outermost candidates that are in
 * and their neighbours that are out. A candidate that is out stays out. Draws are taken into account when asked.
 */
export class CandidateShares {
  private readonly history: DrawHistory;
  private readonly limit: number;
  /** Draws taken into account. */
  private draws = 0;
  /** Those still in, ascending. */
  private inside: Capital[];
  /** The nearest candidates that are out on either side; null while the end itself, 0 or 1, is in. */
  private below: number | null = null;
  private above: number | null = null;
  private least = 0;
  private largest = 1;

  constructor(history: DrawHistory, alpha: number) {
    this.history = history;
    this.limit = 2 / alpha;
    this.inside = Array.from({ length: startCells + 1 }, (_, j) => ({ p: (j / startCells) ** 2, plus: 1, minus: 1 }));
  }

  /**
   * Smallest and largest p in, to within 2.4e-7 outwards, after all draws of the history. None lies beyond `least` and
   * `largest`, which what is left can still make of the share: they never widen from one call to the next.
   */
  hull(least: number, largest: number): readonly [number, number] {
    [this.least, this.largest] = [least, largest];
    for (const candidate of this.inside) this.catchUp(candidate);
    this.draws = this.history.count;
    this.drop();
    this.refine();
    this.narrow('below');
    this.narrow('above');
    return [Math.min(largest, Math.max(least, this.below ?? 0)), Math.max(least, Math.min(largest, this.above ?? 1))];
  }

  private catchUp(candidate: Capital): void {
    for (let draw = this.draws; draw < this.history.count && !this.isOut(candidate); draw++) {
      this.history.bet(candidate, draw);
    }
  }

  private isOut(candidate: Capital): boolean {
    return this.isTooLarge(candidate) || this.isTooSmall(candidate);
  }

  private isTooLarge({ p, plus }: Capital): boolean {
    return plus >= this.limit || p > this.largest;
  }

  private isTooSmall({ p, minus }: Capital): boolean {
    return minus >= this.limit || p < this.least;
  }

  private drop(): void {
    const before = this.inside;
    const first = before.findIndex(c => !this.isOut(c));
    if (first < 0) {
      this.dropAll(before);
      return;
    }
    let last = before.length - 1;
    while (this.isOut(before[last]!)) last--;
    if (first > 0) this.below = before[first - 1]!.p;
    if (last < before.length - 1) this.above = before[last + 1]!.p;
    if (first > 0 || last < before.length - 1) this.inside = before.slice(first, last + 1);
  }

  /** None left: what is still possible lies between the last one too small and the first one too large. */
  private dropAll(before: readonly Capital[]): void {
    for (const c of before) if (this.isTooSmall(c)) this.below = c.p;
    const above = before.find(c => c.p > (this.below ?? -1));
    if (above) this.above = above.p;
    this.inside = [];
  }

  private refine(): void {
    while (this.inside.length === 0 && this.gap() > finest) this.split((this.below ?? 0) / 2 + (this.above ?? 1) / 2);
    if (this.inside.length === 0 || this.inside.length >= fewest || this.gap() <= fewest * resolution) return;
    const ends = [this.below, ...this.inside.map(c => c.p), this.above].filter(p => p !== null);
    for (let i = 1; i < ends.length; i++) this.split((ends[i - 1]! + ends[i]!) / 2);
  }

  private gap(): number {
    return (this.above ?? 1) - (this.below ?? 0);
  }

  /** Halves the cell next to one end until it is small enough. */
  private narrow(end: 'below' | 'above'): void {
    for (;;) {
      const outside = end === 'below' ? this.below : this.above;
      const inside = end === 'below' ? this.inside[0] : this.inside.at(-1);
      if (outside === null || !inside || Math.abs(inside.p - outside) <= resolution) return;
      this.split((inside.p + outside) / 2);
    }
  }

  /** Puts p, which lies between below and above, where it belongs. */
  private split(p: number): void {
    const capital = this.history.replay(p, this.limit);
    const at = this.inside.findIndex(c => c.p > p);
    if (!this.isOut(capital)) this.inside.splice(at < 0 ? this.inside.length : at, 0, capital);
    else if (this.inside.length === 0) {
      if (this.isTooSmall(capital)) this.below = p;
      else this.above = p;
    } else if (at === 0) this.below = p;
    else if (at < 0) this.above = p;
  }
}
