/** Means of e/u, m/u and their products: (e/u), (m/u), (e/u)^2, (e/u)(m/u), (m/u)^2. */
export interface Moments {
  readonly e: number;
  readonly m: number;
  readonly ee: number;
  readonly em: number;
  readonly mm: number;
}

/** What is assumed before the first draw, with the weight of three stretches; it changes the width, never the coverage. */
const prior: Moments = { e: 0.003, m: 0.7, ee: 0.001, em: 0.0021, mm: 0.5145 };
const priorWeight = 3;

/** Running means of the drawn stretches of each class, shrunk to those of all classes, and these to the prior. */
export class RunningMeans {
  private readonly sums: Float64Array;
  private readonly counts: Float64Array;
  private readonly all = new Float64Array(5);
  private drawCount = 0;

  constructor(classes: number) {
    this.sums = new Float64Array(5 * classes);
    this.counts = new Float64Array(classes);
  }

  /** Stretches drawn so far. */
  get count(): number {
    return this.drawCount;
  }

  add(group: number, e: number, m: number): void {
    this.addTo(group, 0, e);
    this.addTo(group, 1, m);
    this.addTo(group, 2, e * e);
    this.addTo(group, 3, e * m);
    this.addTo(group, 4, m * m);
    this.counts[group]!++;
    this.drawCount++;
  }

  /** Shrunk means of one class, for the bets. */
  shrunk(group: number): Moments {
    return {
      e: this.shrunkOne(group, 0, prior.e),
      m: this.shrunkOne(group, 1, prior.m),
      ee: this.shrunkOne(group, 2, prior.ee),
      em: this.shrunkOne(group, 3, prior.em),
      mm: this.shrunkOne(group, 4, prior.mm),
    };
  }

  private addTo(group: number, k: number, value: number): void {
    this.sums[5 * group + k]! += value;
    this.all[k]! += value;
  }

  private shrunkOne(group: number, k: number, before: number): number {
    const all = (this.all[k]! + priorWeight * before) / (this.drawCount + priorWeight);
    return (this.sums[5 * group + k]! + priorWeight * all) / (this.counts[group]! + priorWeight);
  }

  /** Plain means of e/u and m/u of one class, of all classes where it has none yet; null before the first draw. */
  plain(group: number): { readonly e: number; readonly m: number } | null {
    if (this.drawCount === 0) return null;
    const own = this.counts[group]!;
    if (own === 0) return { e: this.all[0]! / this.drawCount, m: this.all[1]! / this.drawCount };
    return { e: this.sums[5 * group]! / own, m: this.sums[5 * group + 1]! / own };
  }
}
