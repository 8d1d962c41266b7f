import { describe, expect, test } from 'vitest';
import {
  type BootstrapResult,
  clusterBootstrap,
  meanOver,
  pairedDifference,
  pooledRatio,
  sdOver,
  withoutEach,
} from '../../../../src/core/score/bootstrap';
import { clusterJackknife, clusterRatio } from '../../../../src/core/score/cluster-ratio';

const settings = { draws: 500, seed: 3, level: 0.95 };

function computed(result: BootstrapResult) {
  if (result.value === null) throw new Error(result.reason);
  return result;
}

describe('statistics of participants', () => {
  const all = Int32Array.of(1, 1, 1);

  // source: definitions
  test('have no value where no participant has one', () => {
    expect(meanOver([Number.NaN, Number.NaN, Number.NaN])(all)).toBeNaN();
    expect(sdOver([4, Number.NaN, Number.NaN])(all)).toBeNaN();
    expect(pooledRatio([0, 0, 0], [0, 0, 0])(all)).toBeNaN();
    expect(pairedDifference(meanOver([1, 2, 3]), meanOver([Number.NaN, Number.NaN, Number.NaN]))(all)).toBeNaN();
  });

  test('count a participant as often as it is drawn, in the unit asked for', () => {
    const drawn = Int32Array.of(1, 0, 2);
    expect(pooledRatio([1, 5, 3], [2, 5, 4])(drawn)).toBe(7 / 10);
    expect(pooledRatio([1, 5, 3], [2, 5, 4], 100)(drawn)).toBe(70);
    expect(meanOver([1, 5, 4])(drawn)).toBe(3);
    expect(sdOver([1, 5, 4])(drawn)).toBeCloseTo(Math.sqrt(3), 12);
  });

  test('leave each out in turn', () => {
    expect([...withoutEach(4, times => Number(times.join('')))]).toEqual([111, 1011, 1101, 1110]);
  });
});

describe('bootstrap intervals at their edges', () => {
  // source: floating-point sums depend on their order, and engines differ in the last digit of Math.log
  test('do not hang on the order in which the drawn are added up', () => {
    const values = [0.1, 0.2, 0.3, 0.7, 1.1, 2.3].map(Math.log);
    const sum = (times: Int32Array) => times.reduce((all, n, i) => all + n * values[i]!, 0);
    const bca = (statistic: typeof sum) =>
      computed(clusterBootstrap(6, statistic, { ...settings, draws: 2000 })).expandedBca!;
    const forwards = bca(sum);
    const backwards = bca(times => times.reduceRight((all, n, i) => all + n * values[i]!, 0));
    for (const end of [0, 1] as const) expect(Math.abs(forwards[end] - backwards[end])).toBeLessThan(1e-9);
  });

  // source: Efron 1987; without acceleration the limits are Phi(2 b +- z) of the draws, and b grows with the draws below
  test('a statistic that changes alike without anyone has no acceleration', () => {
    const distinct = (times: Int32Array) => times.filter(n => n > 0).length / times.length;
    const result = computed(clusterBootstrap(6, distinct, settings));
    expect(result.value).toBe(1);
    // Nearly every draw lies below the value, so the limits move up to the largest draws.
    expect(result.bca![0]).toBeGreaterThanOrEqual(result.percentile![1]);
    expect(result.bca![1]).toBeLessThanOrEqual(1);
  });

  // source: Efron & Tibshirani 1993, ch. 14; past 1 / a the limit is the last draw on that side
  test.each([1, -1])('a level past what the acceleration allows ends at the last draw (outlier %d)', sign => {
    const values = Array.from({ length: 60 }, (_, i) => (i === 0 ? 100 * sign : Math.sin(i)));
    const far = computed(clusterBootstrap(60, meanOver(values), { ...settings, level: 1 - 1e-12 }));
    const side = sign > 0 ? 1 : 0;
    expect(far.bca![side]).toBeCloseTo(far.percentile![side], 6);
    expect(far.expandedBca![side]).toBe(far.bca![side]);
    expect(far.bca![0]).toBeLessThan(far.value);
    expect(far.bca![1]).toBeGreaterThan(far.value);
  });

  // source: Efron 1987; a long upper tail moves both limits up
  test('skewed values move the limits towards their tail', () => {
    const up = computed(clusterBootstrap(12, meanOver([1, 1, 1, 2, 2, 2, 3, 3, 4, 5, 9, 20]), settings));
    expect(up.bca![0]).toBeGreaterThan(up.percentile![0]);
    expect(up.bca![1]).toBeGreaterThan(up.percentile![1]);
    const down = computed(clusterBootstrap(12, meanOver([-1, -1, -1, -2, -2, -2, -3, -3, -4, -5, -9, -20]), settings));
    expect(down.bca![0]).toBeLessThan(down.percentile![0]);
    expect(down.bca![1]).toBeLessThan(down.percentile![1]);
  });

  test('a wider level holds a narrower one', () => {
    const of = (level: number) =>
      computed(clusterBootstrap(8, meanOver([1, 4, 2, 8, 5, 7, 3, 6]), { ...settings, level }));
    for (const kind of ['percentile', 'bca', 'expandedPercentile', 'expandedBca'] as const) {
      expect(of(0.99)[kind]![0]).toBeLessThan(of(0.8)[kind]![0]);
      expect(of(0.99)[kind]![1]).toBeGreaterThan(of(0.8)[kind]![1]);
    }
  });

  test('takes a hundred draws and no fewer', () => {
    expect(clusterBootstrap(3, meanOver([1, 2, 4]), { ...settings, draws: 100 })).toMatchObject({ draws: 100, n: 3 });
    expect(clusterBootstrap(3, () => Number.NaN, settings)).toEqual({
      value: null,
      reason: 'the statistic has no value on these participants',
    });
  });
});

describe('jackknife and pooled proportion at their edges', () => {
  test('say which value is missing', () => {
    expect(clusterJackknife(0, () => 1)).toEqual({ value: null, reason: 'no participant' });
    expect(clusterJackknife(3, () => Number.NaN)).toEqual({
      value: null,
      reason: 'the statistic has no value on these participants',
    });
    expect(clusterJackknife(2, sdOver([1, 3]))).toMatchObject({
      value: expect.closeTo(Math.SQRT2, 12),
      n: 2,
      interval: null,
      intervalReason: 'it has no value without one of the participants',
    });
    expect(clusterJackknife(2, meanOver([1, 3])).value).toBe(2);
  });

  // source: definition of the jackknife by hand: shares of the others 5 / 15, 9 / 15 and 8 / 20 about 11 / 25; t with
  // 2 df 4.3026527 (tables)
  test('of unlike participants by hand, those without a whole left out', () => {
    const result = clusterRatio([6, 0, 2, 3], [10, 0, 10, 5]);
    if (result.value === null || result.interval === null) throw new Error('no interval');
    expect([result.value, result.n]).toEqual([11 / 25, 3]);
    const logits = [5 / 10, 9 / 6, 8 / 12].map(Math.log);
    const mean = (logits[0]! + logits[1]! + logits[2]!) / 3;
    const squares = logits.reduce((sum, x) => sum + (x - mean) ** 2, 0);
    const half = 4.3026527 * Math.sqrt((2 / 3) * squares);
    const logit = (p: number) => Math.log(p / (1 - p));
    expect(logit(result.interval[0])).toBeCloseTo(Math.log(11 / 14) - half, 6);
    expect(logit(result.interval[1])).toBeCloseTo(Math.log(11 / 14) + half, 6);
  });

  test('are narrower at a lower level', () => {
    const at = (level: number) => clusterRatio([6, 4, 8], [10, 10, 10], level);
    const [wide, narrow] = [at(0.95), at(0.8)];
    if (wide.value === null || narrow.value === null) throw new Error('no value');
    expect(narrow.interval![0]).toBeGreaterThan(wide.interval![0]);
    expect(narrow.interval![1]).toBeLessThan(wide.interval![1]);
    expect([wide.level, narrow.level]).toEqual([0.95, 0.8]);
  });

  test('two participants are enough, one is not', () => {
    expect(clusterRatio([6], [10])).toMatchObject({ value: 0.6, n: 1, intervalReason: 'needs two participants' });
    expect(clusterRatio([6, 0], [10, 0])).toMatchObject({ n: 1, intervalReason: 'needs two participants' });
    expect(clusterRatio([6, 4], [10, 10])).toMatchObject({ value: 0.5, n: 2, interval: expect.anything() });
    expect(clusterRatio([0, 0], [4, 5])).toMatchObject({ value: 0, interval: null });
  });
});
