/**
 * Seeded random numbers: Chris Doty-Humphrey's sfc32 (PractRand), three 32-bit words and a counter, seeded from one
 * 32-bit number through 12 discarded rounds. The same seed gives the same numbers everywhere.
 */
export class Seeded {
  private a: number;
  private b = 0x9e3779b9 | 0;
  private c = 0x243f6a88 | 0;
  private counter = 1;
  private spare: number | null = null;

  constructor(seed: number) {
    if (!Number.isSafeInteger(seed)) throw new RangeError(`a seed is a whole number, not ${seed}`);
    this.a = seed | 0;
    this.b ^= Math.floor(seed / 2 ** 32) | 0;
    for (let i = 0; i < 12; i++) this.uint32();
  }

  uint32(): number {
    const sum = (((this.a + this.b) | 0) + this.counter) | 0;
    this.counter = (this.counter + 1) | 0;
    this.a = this.b ^ (this.b >>> 9);
    this.b = (this.c + (this.c << 3)) | 0;
    this.c = ((this.c << 21) | (this.c >>> 11)) + sum;
    this.c |= 0;
    return sum >>> 0;
  }

  /** Uniform in [0, 1), 32 bits. */
  uniform(): number {
    return this.uint32() / 2 ** 32;
  }

  /** Whole number in [0, n), n up to 2^20 or so: the bias is below n / 2^32. */
  below(n: number): number {
    return Math.floor(this.uniform() * n);
  }

  /** Standard normal by the polar method (Marsaglia & Bray, SIAM Rev 1964;6:260). */
  normal(): number {
    if (this.spare !== null) {
      const kept = this.spare;
      this.spare = null;
      return kept;
    }
    for (;;) {
      const u = 2 * this.uniform() - 1;
      const v = 2 * this.uniform() - 1;
      const s = u * u + v * v;
      if (s === 0 || s >= 1) continue;
      const scale = Math.sqrt((-2 * Math.log(s)) / s);
      this.spare = v * scale;
      return u * scale;
    }
  }
}
