import { describe, expect, test } from 'vitest';
import { differenceBootstrapT, ratioBootstrapT } from '../../../../src/core/score/bootstrap-t';
import type { Estimate } from '../../../../src/core/score/result';
import reference from '../../../reference/bootstrap/bootstrap.json';
import { amount } from '../../amount';

const settings = { draws: amount(40_000, 10_000), seed: 7, level: 0.95 };
/** Resampling error grows with the root of the share of draws left out. */
const slack = Math.sqrt(40_000 / settings.draws);
const { right, second, total } = reference;

function limits(e: Estimate): readonly [number, number] {
  if (e.value === null || !e.interval) throw new Error('no interval');
  return e.interval;
}

describe('symmetric bootstrap-t', () => {
  // source: NumPy, straight from the definition with 400,000 resamples (tests/reference/bootstrap/bootstrap.py)
  test('a pooled proportion', () => {
    const found = ratioBootstrapT(right, total, settings);
    expect(found).toMatchObject({ n: 8, level: 0.95 });
    expect(found.value).toBeCloseTo(2284 / 2424, 12);
    for (const side of [0, 1] as const)
      expect(Math.abs(limits(found)[side] - reference.ratioBootstrapT[side]!)).toBeLessThan(0.002 * slack);
    const logit = (p: number) => Math.log(p / (1 - p));
    const [low, high] = limits(found).map(logit) as [number, number];
    expect((low + high) / 2).toBeCloseTo(logit(2284 / 2424), 10);
  });

  test('a paired difference', () => {
    const found = differenceBootstrapT({ parts: right, wholes: total }, { parts: second, wholes: total }, settings);
    expect(found.value).toBeCloseTo((2284 - 2204) / 2424, 12);
    for (const side of [0, 1] as const)
      expect(Math.abs(limits(found)[side] - reference.differenceBootstrapT[side]!)).toBeLessThan(0.001 * slack);
  });

  test('the same seed gives the same interval, another seed another', () => {
    const run = (seed: number) => ratioBootstrapT(right, total, { draws: 500, seed, level: 0.95 });
    expect(run(4)).toEqual(run(4));
    expect(run(4)).not.toEqual(run(5));
  });

  test('participants without a whole do not count', () => {
    const with0 = ratioBootstrapT([...right, 0], [...total, 0], settings);
    expect(with0).toEqual(ratioBootstrapT(right, total, settings));
  });

  test('says why there is none', () => {
    expect(ratioBootstrapT([], [])).toEqual({ value: null, reason: 'no interval to judge' });
    expect(ratioBootstrapT([3], [4])).toMatchObject({ value: 0.75, interval: null, n: 1 });
    expect(ratioBootstrapT([3, 5], [3, 5])).toMatchObject({ value: 1, interval: null });
    expect(ratioBootstrapT([1, 2], [2, 4])).toMatchObject({ value: 0.5, interval: null });
    // One of three has mistakes: 8 of 27 draws are without him, and 1 of 27 is him alone; the rest is enough.
    expect(limits(ratioBootstrapT([3, 5, 1], [3, 5, 2]))[0]).toBeLessThan(0.9);
    const one = { parts: [3], wholes: [4] };
    expect(differenceBootstrapT({ parts: [], wholes: [] }, { parts: [], wholes: [] })).toMatchObject({ value: null });
    expect(differenceBootstrapT(one, one)).toMatchObject({ value: 0, interval: null, n: 1 });
    const pairs = { parts: [3, 7, 8], wholes: [10, 10, 10] };
    const lower = { parts: [2, 6, 7], wholes: [10, 10, 10] };
    const same = differenceBootstrapT(pairs, lower);
    expect(same).toMatchObject({ interval: null, intervalReason: 'its standard error is not known' });
    expect(same.value).toBeCloseTo(0.1, 12);
  });
});
