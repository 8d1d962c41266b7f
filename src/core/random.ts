import { log } from './elementary';

/** Seeded random numbers that are the same everywhere: sfc32 (Chris Doty-Humphrey, PractRand), three words and a counter. */
export class Random {
  private spare: number | null = null;

  constructor(
    private a: number,
    private b: number,
    private c: number,
    private counter: number,
  ) {}

  /** 32 random bits. */
  uint32(): number {
    const t = (((this.a + this.b) | 0) + this.counter) | 0;
    this.counter = (this.counter + 1) | 0;
    this.a = this.b ^ (this.b >>> 9);
    this.b = (this.c + (this.c << 3)) | 0;
    this.c = (((this.c << 21) | (this.c >>> 11)) + t) | 0;
    return t >>> 0;
  }

  /** 32 random bits as a number in [0, 1). */
  uniform(): number {
    return this.uint32() / 2 ** 32;
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.uniform();
  }

  /** Whole number in [0, n), n up to 2^20 or so: the bias is below n / 2^32. */
  integer(n: number): number {
    return Math.floor(this.uniform() * n);
  }

  /**
   * Counts of `times` whole numbers in [0, n), added up at `from` of `into`: what `integer` would give as often, in a third
   * of the time.
   */
  tally(n: number, times: number, into: Uint16Array, from: number): void {
    // The state as plain variables: this loop draws millions.
    let { a, b, c, counter } = this;
    for (let i = 0; i < times; i++) {
      const t = (((a + b) | 0) + counter) | 0;
      counter = (counter + 1) | 0;
      a = b ^ (b >>> 9);
      b = (c + (c << 3)) | 0;
      c = (((c << 21) | (c >>> 11)) + t) | 0;
      into[from + Math.floor(((t >>> 0) / 2 ** 32) * n)]!++;
    }
    this.a = a;
    this.b = b;
    this.c = c;
    this.counter = counter;
  }

  pick<T>(items: readonly T[]): T {
    if (items.length === 0) throw new RangeError('nothing to pick from');
    return items[this.integer(items.length)]!;
  }

  /** Standard normal deviate by the polar method (Marsaglia & Bray, SIAM Rev 1964;6:260). */
  normal(): number {
    if (this.spare !== null) {
      const value = this.spare;
      this.spare = null;
      return value;
    }
    for (;;) {
      const u = 2 * this.uniform() - 1;
      const v = 2 * this.uniform() - 1;
      const s = u * u + v * v;
      if (s >= 1 || s === 0) continue;
      const scale = Math.sqrt((-2 * log(s)) / s);
      this.spare = v * scale;
      return u * scale;
    }
  }
}

/**
 * A stream from a seed string; equal seeds (1 and '1' too) give equal streams. Separate streams come from separate seeds,
 * so a change to one part of a simulation leaves the others as they were.
 */
export function randomFrom(seed: string | number): Random {
  const text = String(seed);
  const state = [0x9e3779b9, 0x243f6a88, 0xb7e15162].map(salt => hash(text, salt));
  const random = new Random(state[0]!, state[1]!, state[2]!, 1);
  for (let i = 0; i < 15; i++) random.uniform();
  return random;
}

/** A stream from a whole number, as settings and logs keep it. Throws a RangeError for any other number. */
export function randomFromNumber(seed: number): Random {
  if (!Number.isSafeInteger(seed)) throw new RangeError(`a seed is a whole number, not ${seed}`);
  const random = new Random(seed | 0, (0x9e3779b9 | 0) ^ (Math.floor(seed / 2 ** 32) | 0), 0x243f6a88 | 0, 1);
  for (let i = 0; i < 12; i++) random.uint32();
  return random;
}

/** 32-bit multiply-and-rotate hash of a string's UTF-16 units with MurmurHash3's constants and final mix. */
function hash(text: string, salt: number): number {
  let h = salt ^ text.length;
  for (let i = 0; i < text.length; i++) {
    h = Math.imul(h ^ Math.imul(text.charCodeAt(i), 0xcc9e2d51), 0x1b873593);
    h = (h << 13) | (h >>> 19);
  }
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return h ^ (h >>> 16);
}
