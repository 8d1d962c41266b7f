import { log } from './elementary';

/**
 * Seeded random numbers that are the same everywhere: sfc32 (Chris Doty-Humphrey, PractRand), seeded by a string hash.
 * Separate streams come from separate seed strings, so a change to one part of a simulation leaves the others as they
 * were.
 */
export class Random {
  private spare: number | null = null;

  constructor(
    private a: number,
    private b: number,
    private c: number,
    private counter: number,
  ) {}

  /** 32 random bits as a number in [0, 1). */
  uniform(): number {
    const t = (((this.a + this.b) | 0) + this.counter) | 0;
    this.counter = (this.counter + 1) | 0;
    this.a = this.b ^ (this.b >>> 9);
    this.b = (this.c + (this.c << 3)) | 0;
    this.c = (((this.c << 21) | (this.c >>> 11)) + t) | 0;
    return (t >>> 0) / 4294967296;
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.uniform();
  }

  /** Whole number in [0, n). */
  integer(n: number): number {
    return Math.floor(this.uniform() * n);
  }

  pick<T>(items: readonly T[]): T {
    if (items.length === 0) throw new RangeError('nothing to pick from');
    return items[this.integer(items.length)]!;
  }

  /** Standard normal deviate (Marsaglia's polar method). */
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

/** A stream from a seed; equal seeds (1 and '1' too) give equal streams. */
export function randomFrom(seed: string | number): Random {
  const text = String(seed);
  const state = [0x9e3779b9, 0x243f6a88, 0xb7e15162].map(salt => hash(text, salt));
  const random = new Random(state[0]!, state[1]!, state[2]!, 1);
  for (let i = 0; i < 15; i++) random.uniform();
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
