import { DrawHistory, term } from './bets';
import { CandidateShares } from './candidates';
import { type Moments, RunningMeans } from './means';
import type { Population } from './population';

/** A stretch as it enters the sums: reviewed, or, when it was skipped, as it might be at worst or at best. */
export interface Entry {
  readonly stretch: number;
  readonly drawn: boolean;
  readonly errors: number;
  readonly intervals: number;
}

/**
 * The confidence sequence by betting, without replacement, of the share p of wrong intervals: Waudby-Smith & Ramdas 2020
 * (sampling without replacement) and 2024 (betting), Shekhar et al. 2023 (weighted sampling), Ville 1939; the ratio is
 * inverted and the classes given their own means in a combination of these. All bounds must hold: intervals <= bound.
 */
export class Ledger {
  private readonly population: Population;
  private readonly history: DrawHistory;
  private readonly candidates: CandidateShares;
  private readonly means: RunningMeans;
  /** Sum of the bounds of the stretches not yet entered, by class. */
  private readonly rest: Float64Array;
  private readonly restCount: Int32Array;
  private errors = 0;
  private intervals = 0;

  constructor(population: Population, alpha: number) {
    const classes = population.weights.length;
    this.population = population;
    this.history = new DrawHistory(classes);
    this.candidates = new CandidateShares(this.history, alpha);
    this.means = new RunningMeans(classes);
    this.rest = new Float64Array(classes);
    this.restCount = new Int32Array(classes);
    for (const { bound, group } of population.stretches) {
      this.rest[group]! += bound;
      this.restCount[group]!++;
    }
  }

  enter(entry: Entry): void {
    const { bound, group } = this.population.stretches[entry.stretch]!;
    if (entry.drawn) {
      this.setTerms(this.history.next(), entry, bound, group);
      this.means.add(group, entry.errors / bound, entry.intervals / bound);
    }
    this.errors += entry.errors;
    this.intervals += entry.intervals;
    // Exactly 0 with nothing left, whatever the roundings on the way.
    this.rest[group] = --this.restCount[group]! === 0 ? 0 : this.rest[group]! - bound;
  }

  /** Smallest and largest share p that is still possible, by the bets and by what the rest can hold at all. */
  shares(): readonly [number, number] {
    let rest = 0;
    for (const r of this.rest) rest += r;
    const most = this.intervals + rest;
    return most > 0 ? this.candidates.hull(this.errors / most, (this.errors + rest) / most) : [0, 1];
  }

  /** Capital against p after the draws so far, or when it first reached `limit`. */
  capital(p: number, limit: number): { readonly plus: number; readonly minus: number } {
    return this.history.replay(p, limit);
  }

  /** Writes the terms of a draw, which depend on what came before it alone but for the draw's own outcome. */
  private setTerms(row: Float64Array, { errors, intervals }: Entry, bound: number, group: number): void {
    const { weights } = this.population;
    const moments = weights.map((_, h) => this.means.shrunk(h));
    const total = totalWeight(this.rest, weights);
    let [k0, k1] = [0, 0];
    for (const [h, g] of weights.entries()) {
      const { e, m } = moments[h]!;
      k0 += (this.rest[h]! * e) / total;
      k1 -= (this.rest[h]! * m) / total;
      const at = term.classes + 3 * h;
      // A class with nothing left can give nothing.
      row[at] = this.restCount[h] === 0 ? nothing : (1 - e) / g;
      row[at + 1] = this.restCount[h] === 0 ? nothing : e / g;
      row[at + 2] = (1 - m) / g;
    }
    const own = moments[group]!;
    const g = weights[group]!;
    row[term.mu] = -this.errors / total - k0;
    row[term.mu + 1] = this.intervals / total - k1;
    row[term.d] = row[term.mu]! - (errors / bound - own.e) / g;
    row[term.d + 1] = row[term.mu + 1]! - (own.m - intervals / bound) / g;
    row.set(varianceTerms(this.rest, weights, moments), term.variance);
  }
}

const nothing = Number.NEGATIVE_INFINITY;

/** G: weighted sum of the bounds that are left. */
export function totalWeight(rest: Float64Array, weights: readonly number[]): number {
  let total = 0;
  for (let h = 0; h < rest.length; h++) total += weights[h]! * rest[h]!;
  return total;
}

/** Variance of y within the classes, by powers of p. */
export function varianceTerms(
  rest: Float64Array,
  weights: readonly number[],
  moments: readonly Moments[],
): readonly [number, number, number] {
  const total = totalWeight(rest, weights);
  let [v0, v1, v2] = [0, 0, 0];
  for (let h = 0; h < rest.length; h++) {
    const { e, m, ee, em, mm } = moments[h]!;
    const share = rest[h]! / (total * weights[h]!);
    v0 += share * (ee - e * e);
    v1 -= share * 2 * (em - e * m);
    v2 += share * (mm - m * m);
  }
  return [v0, v1, v2];
}
