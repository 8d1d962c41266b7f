import type { Interval } from '../score/result';
import { EstimateSums } from './estimate';
import { type Entry, Ledger } from './ledger';
import { checkPopulation, checkStep, type Population, type Step, scaleBounds } from './population';

/** What the stretches reviewed so far say. Shares of right intervals in [0, 1]. */
export interface SampledShare {
  /** Null before the first draw, and where no stretch holds an interval. */
  readonly estimate: number | null;
  /** Valid whenever one stops. [0, 1] before the first draw, unless much is known. */
  readonly interval: Interval;
  readonly drawn: number;
  readonly known: number;
  readonly skipped: number;
  /** Stretches neither reviewed nor skipped. */
  readonly rest: number;
  /** Nothing is left: estimate and interval are the number itself. */
  readonly exact: boolean;
  /** What the bounds had to be multiplied by, because a stretch held more intervals than its bound; 1 when none did. */
  readonly boundFactor: number;
  /** Intervals in all, as estimated; 0 without an estimate. */
  readonly intervals: number;
}

/**
 * Quality from a sample of the stretches of a recording, one step after the other. The interval holds the truth at every
 * step of the way with probability 1 - alpha at least, in whatever order known stretches come in between, as long as
 * drawn ones follow the hidden order and no stretch holds more intervals than its bound.
 */
export class SampledQuality {
  private readonly plain: Population;
  private readonly alpha: number;
  private readonly steps: Step[] = [];
  private readonly entered = new Set<number>();
  private readonly counts = { drawn: 0, known: 0, skipped: 0 };
  private factor = 1;
  private population: Population;
  /** With each skipped stretch at its worst: gives the low end of quality. */
  private worst: Ledger;
  /** With each at its best; the same object until something is skipped. */
  private best: Ledger;
  private tally: EstimateSums;

  constructor(population: Population, alpha = 0.05) {
    checkPopulation(population, alpha);
    this.plain = population;
    this.population = population;
    this.alpha = alpha;
    this.worst = new Ledger(population, alpha);
    this.best = this.worst;
    this.tally = new EstimateSums(population);
  }

  /** Throws a RangeError when the stretch does not exist, came before, or has more errors than intervals. */
  add(step: Step): void {
    const stretch = this.population.stretches[step.stretch];
    if (!stretch) throw new RangeError(`there is no stretch ${step.stretch}`);
    if (this.entered.has(step.stretch)) throw new RangeError(`stretch ${step.stretch} comes twice`);
    checkStep(step);
    this.entered.add(step.stretch);
    this.steps.push(step);
    this.counts[step.kind]++;
    const needed = step.kind === 'skipped' ? 0 : step.intervals / this.plain.stretches[step.stretch]!.bound;
    if (needed > this.factor) this.replay(needed);
    else this.enter(step);
  }

  share(): SampledShare {
    const { drawn, known, skipped } = this.counts;
    const high = 1 - this.best.shares()[0];
    const low = 1 - this.worst.shares()[1];
    const rest = this.population.stretches.length - this.steps.length;
    return {
      estimate: this.tally.estimate(),
      interval: [low, high],
      drawn,
      known,
      skipped,
      rest,
      exact: rest === 0 && skipped === 0,
      boundFactor: this.factor,
      intervals: this.tally.sums().intervals,
    };
  }

  /** Draws needed in all until the interval reaches `halfWidth` on either side of its middle, as far as can be told now. */
  needed(halfWidth: number): number {
    return this.tally.needed(halfWidth, this.alpha);
  }

  /**
   * Capital against a share p of wrong intervals after the draws so far, or when it first reached `limit`: p has left the
   * interval once one of the two has reached 2 / alpha. For checking.
   */
  capital(p: number, limit = Number.POSITIVE_INFINITY): { readonly plus: number; readonly minus: number } {
    return this.worst.capital(p, limit);
  }

  private replay(factor: number): void {
    this.factor = factor;
    this.population = scaleBounds(this.plain, factor);
    this.worst = new Ledger(this.population, this.alpha);
    this.best = this.worst;
    this.tally = new EstimateSums(this.population);
    for (const [i, step] of this.steps.entries()) this.enter(step, i);
  }

  private enter(step: Step, at = this.steps.length - 1): void {
    this.tally.enter(step);
    if (step.kind === 'skipped' && this.best === this.worst) {
      this.best = new Ledger(this.population, this.alpha);
      for (const before of this.steps.slice(0, at)) this.best.enter(entryOf(before));
    }
    if (step.kind !== 'skipped') {
      this.worst.enter(entryOf(step));
      if (this.best !== this.worst) this.best.enter(entryOf(step));
      return;
    }
    const { bound } = this.population.stretches[step.stretch]!;
    this.worst.enter({ stretch: step.stretch, drawn: true, errors: bound, intervals: bound });
    this.best.enter({ stretch: step.stretch, drawn: true, errors: 0, intervals: bound });
  }
}

function entryOf({ stretch, kind, errors, intervals }: Step): Entry {
  return { stretch, drawn: kind === 'drawn', errors, intervals };
}
