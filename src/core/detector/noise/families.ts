/**
 * Kinds of beats of this recording, each with its average shape, learnt where beats can be read and kept from window to
 * window: normal, ectopic and paced ones are families of their own, whichever way they point.
 * Sources: templates of several kinds of beats, Krasteva & Jekova, Ann Biomed Eng 2007;35:2065; the patient's own
 * beats as matched filter, Xue, Hu & Tompkins, IEEE TBME 1992;39:317 (both from memory).
 */
export interface Family {
  /** Average shape per lead, in fine steps, the beat's middle at `halfSteps`. */
  readonly shape: readonly Float32Array[];
  /** Beats learnt, older ones counting less. */
  weight: number;
  /** Fine steps from the middle to the R apex, averaged. */
  apex: number;
  /** Sum of squares of every other value of the shape. */
  power: number;
}

interface Fit {
  readonly family: Family;
  readonly lag: number;
  readonly alike: number;
}

/** A beat is compared over this time on either side of its middle, which takes in part of its T wave. */
const halfS = 0.18;
/** How far the middle may be moved for the best fit. */
const lagS = 0.048;
/** So much alike that no other family need be looked at. */
const sure = 0.93;
/** Two shapes more alike than this (2ab / (a2 + b2)) are of one family. */
const sameFamily = 0.8;
const mostFamilies = 8;
/** The average goes on following slow changes: it never counts more beats than this. */
const memory = 25;
/** What is left of a family's weight after each beat of any family. */
const fading = 0.998;
/** Two beats of a kind may be chance; three are a family. */
const fewest = 3;

export class Families {
  readonly halfSteps: number;
  private readonly lags: number;
  private readonly leadCount: number;
  private readonly most: number;
  private all: Family[] = [];

  /** `most`: how many are kept; a further one takes the place of the least frequent. */
  constructor(stepsPerSecond: number, leadCount: number, most = mostFamilies) {
    this.most = most;
    this.halfSteps = Math.round(halfS * stepsPerSecond);
    this.lags = Math.round(lagS * stepsPerSecond);
    this.leadCount = leadCount;
  }

  /** Families with beats enough to be trusted, the most frequent first. */
  get known(): readonly Family[] {
    return this.all.filter(f => this.isKnown(f)).sort((a, b) => b.weight - a.weight);
  }

  isKnown(family: Family): boolean {
    return family.weight >= fewest;
  }

  /**
   * Learns the beat whose middle is near fine step `at`, its apex `apex` steps after that. Returns its family; null near
   * an end of the window.
   */
  learn(fine: readonly Float32Array[], count: number, at: number, apex: number): Family | null {
    const reach = this.halfSteps + this.lags;
    if (at < reach || at + reach >= count) return null;
    const best = this.bestFit(fine, count, at);
    for (const f of this.all) f.weight *= fading;
    if (!best || best.alike < sameFamily) return this.found(fine, at, apex);
    this.join(best.family, fine, at + best.lag, apex - best.lag);
    return best.family;
  }

  /**
   * The family most like the beat near `at`, and how far its middle lies beside; null near an end of the window, or
   * when nothing has been learnt.
   */
  bestFit(fine: readonly Float32Array[], count: number, at: number): Fit | null {
    const reach = this.halfSteps + this.lags;
    if (at < reach || at + reach >= count) return null;
    let best: Fit | null = null;
    for (const family of this.all) {
      const fit = this.fit(family, fine, at);
      if (!best || fit.alike > best.alike) best = fit;
      if (best.alike > sure) break;
    }
    return best;
  }

  /** Climbs to the best lag from the middle, or from where to either side it is more alike. */
  private fit(family: Family, fine: readonly Float32Array[], at: number): Fit {
    const middle = this.alike(family, fine, at);
    if (middle > sure) return { family, lag: 0, alike: middle };
    let from = 0;
    let start = middle;
    if (middle <= sameFamily) {
      const halfBack = -this.lags >> 1;
      const halfOn = this.lags >> 1;
      const before = this.alike(family, fine, at + halfBack);
      const after = this.alike(family, fine, at + halfOn);
      if (before > start || after > start) from = after > before ? halfOn : halfBack;
      start = Math.max(start, before, after);
    }
    const back = this.climb(family, fine, at, from, start, -1);
    return this.climb(family, fine, at, back.lag, back.alike, 1);
  }

  /** Goes on in one way while it gets more alike. */
  private climb(
    family: Family,
    fine: readonly Float32Array[],
    at: number,
    from: number,
    start: number,
    way: number,
  ): Fit {
    let lag = from;
    let alike = start;
    for (let next = lag + way; Math.abs(next) <= this.lags; next += way) {
      const v = this.alike(family, fine, at + next);
      if (v <= alike) break;
      alike = v;
      lag = next;
    }
    return { family, lag, alike };
  }

  /** Every other step is enough to tell shapes apart. */
  private alike(family: Family, fine: readonly Float32Array[], middle: number): number {
    let product = 0;
    let power = family.power;
    for (let lead = 0; lead < this.leadCount; lead++) {
      const x = fine[lead]!;
      const s = family.shape[lead]!;
      // Two sums side by side: the next term of one need not wait for the other.
      let otherProduct = 0;
      let otherPower = 0;
      let k = 0;
      let i = middle - this.halfSteps;
      for (; k + 2 < s.length; k += 4, i += 4) {
        const a = x[i]!;
        const b = x[i + 2]!;
        product += a * s[k]!;
        power += a * a;
        otherProduct += b * s[k + 2]!;
        otherPower += b * b;
      }
      if (k < s.length) {
        product += x[i]! * s[k]!;
        power += x[i]! * x[i]!;
      }
      product += otherProduct;
      power += otherPower;
    }
    return power > 0 ? (2 * product) / power : 0;
  }

  private join(family: Family, fine: readonly Float32Array[], middle: number, apex: number): void {
    family.weight += 1;
    const share = 1 / Math.min(memory, family.weight);
    family.apex += share * (apex - family.apex);
    let power = 0;
    for (let lead = 0; lead < this.leadCount; lead++) {
      const s = family.shape[lead]!;
      const x = fine[lead]!;
      for (let k = 0, i = middle - this.halfSteps; k < s.length; k++, i++) {
        const v = Math.fround(s[k]! + share * (x[i]! - s[k]!));
        s[k] = v;
        if ((k & 1) === 0) power += v * v;
      }
    }
    family.power = power;
  }

  private found(fine: readonly Float32Array[], middle: number, apex: number): Family {
    if (this.all.length === this.most) {
      const least = this.all.reduce((a, b) => (b.weight < a.weight ? b : a));
      this.all = this.all.filter(f => f !== least);
    }
    const shape = Array.from({ length: this.leadCount }, (_, lead) =>
      fine[lead]!.slice(middle - this.halfSteps, middle + this.halfSteps + 1),
    );
    const family = { shape, weight: 1, apex, power: powerOf(shape) };
    this.all.push(family);
    return family;
  }
}

function powerOf(shape: readonly Float32Array[]): number {
  let sum = 0;
  for (const s of shape) for (let k = 0; k < s.length; k += 2) sum += s[k]! * s[k]!;
  return sum;
}
