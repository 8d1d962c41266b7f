import { describe, expect, test } from 'vitest';
import { alike, Correlation } from '../../../../src/core/detector/correlation';

const workingHz = 250;
const apart = 200;

/** A band of waves `apart` samples from each other, by their widths and heights; all are taken for beats. */
function similarityOf(waves: readonly (readonly [width: number, height: number])[], i: number): number {
  const n = apart * (waves.length + 1);
  const band = new Float32Array(n);
  const at = Int32Array.from(waves, (_, k) => apart * (k + 1));
  for (const [k, [width, height]] of waves.entries())
    for (let d = -apart / 2; d < apart / 2; d++) band[at[k]! + d] = height * Math.exp(-0.5 * (d / width) ** 2);
  const candidates = { at, energy: new Float32Array(waves.length).fill(1), count: waves.length };
  return new Correlation({ band, n, workingHz, candidates, chosen: new Uint8Array(waves.length).fill(1) }).of(i);
}

const beat = [4, 1] as const;
const odd = [15, -2] as const;

describe('similarity of a wave to the beats around it', () => {
  test('a beat among its like is alike, and so is one of two kinds', () => {
    expect(similarityOf([beat, beat, beat, beat, beat, beat], 3)).toBe(alike);
    expect(similarityOf([beat, odd, beat, odd, beat, odd, beat], 3)).toBe(alike);
  });

  test('a wave seen once is unlike, and one seen twice too', () => {
    expect(similarityOf([beat, beat, beat, odd, beat, beat], 3)).toBeLessThan(0);
    expect(similarityOf([beat, odd, beat, odd, beat, beat], 3)).toBeLessThan(0);
  });

  test('of one shape and a third of the size it is 2 x 1/3 / (1 + 1/9) = 0.6', () => {
    expect(similarityOf([beat, beat, beat, [4, 1 / 3], beat, beat], 3)).toBeCloseTo(0.6, 5);
  });

  test('a wave the wrong way up is the opposite of its neighbours', () => {
    expect(similarityOf([beat, beat, beat, [4, -1], beat, beat], 3)).toBeLessThan(0.3);
  });

  test('cannot be computed among fewer than four beats, nor at an edge', () => {
    expect(similarityOf([beat, odd, beat, beat], 1)).toBe(alike);
    const n = 400;
    const candidates = { at: Int32Array.of(5, 100, 200, 300, 390), energy: new Float32Array(5), count: 5 };
    const input = { band: new Float32Array(n), n, workingHz, candidates, chosen: new Uint8Array(5).fill(1) };
    expect(new Correlation(input).of(0)).toBe(alike);
    expect(new Correlation(input).of(4)).toBe(alike);
  });
});
