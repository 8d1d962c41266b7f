import { totalWeight, varianceTerms } from './ledger';
import { RunningMeans } from './means';
import type { Population, Step } from './population';

/** Sums for the estimate; skipped stretches count as not reviewed. */
export class EstimateSums {
  private readonly population: Population;
  private readonly means: RunningMeans;
  /** Sum of the bounds of what is not reviewed, by class. */
  private readonly rest: Float64Array;
  /** The same with what was drawn: all but what became known otherwise. */
  private readonly drawable: Float64Array;
  private drawableCount: number;
  private unreviewed: number;
  private errors = 0;
  private intervals = 0;

  constructor(population: Population) {
    this.population = population;
    this.means = new RunningMeans(population.weights.length);
    this.rest = new Float64Array(population.weights.length);
    for (const { bound, group } of population.stretches) this.rest[group]! += bound;
    this.drawable = this.rest.slice();
    this.unreviewed = population.stretches.length;
    this.drawableCount = population.stretches.length;
  }

  enter({ stretch, kind, errors, intervals }: Step): void {
    if (kind === 'skipped') return;
    const { bound, group } = this.population.stretches[stretch]!;
    if (kind === 'drawn') this.means.add(group, errors / bound, intervals / bound);
    else {
      this.drawable[group]! -= bound;
      this.drawableCount--;
    }
    this.rest[group]! -= bound;
    this.unreviewed--;
    this.errors += errors;
    this.intervals += intervals;
  }

  /** 1 - E/M: reviewed sums, and for the rest of each class its bounds times the plain mean of those drawn from it. */
  estimate(): number | null {
    const { errors, intervals } = this.sums();
    return errors !== null && intervals > 0 ? 1 - errors / intervals : null;
  }

  /** Wrong and lost intervals, and all of them, as estimated for the whole; errors null where a class has no draw yet. */
  sums(): { readonly errors: number | null; readonly intervals: number } {
    let [errors, intervals] = [this.errors, this.intervals];
    if (this.unreviewed > 0) {
      for (let h = 0; h < this.rest.length; h++) {
        const means = this.means.plain(h);
        if (!means) return { errors: null, intervals: 0 };
        errors += this.rest[h]! * means.e;
        intervals += this.rest[h]! * means.m;
      }
    }
    return { errors, intervals };
  }

  /**
   * Draws needed in all for an interval of `halfWidth` on either side, from what was drawn so far (before the first
   * draw: from the prior, or at the share of wrong intervals given). Never more than can be drawn.
   */
  needed(halfWidth: number, alpha: number, share?: number): number {
    const { weights } = this.population;
    const total = totalWeight(this.drawable, weights);
    if (total <= 0) return 0;
    const moments = weights.map((_, h) => this.means.shrunk(h));
    const [v0, v1, v2] = varianceTerms(this.drawable, weights, moments);
    const intervals = moments.reduce((sum, { m }, h) => sum + this.drawable[h]! * m, 0);
    const errors = moments.reduce((sum, { e }, h) => sum + this.drawable[h]! * e, 0);
    const p = share ?? (this.means.count > 0 ? 1 - this.estimate()! : errors / intervals);
    const change = (intervals / total) * halfWidth;
    const evidence = Math.log(2 / alpha);
    const spread = (2 * (v0 + p * (v1 + p * v2))) / change ** 2;
    const endless = evidence * (spread + 1 / (2 * change));
    const draws = endless / (1 + (evidence * spread) / this.drawableCount);
    return Math.min(this.drawableCount, Math.ceil(draws));
  }
}
