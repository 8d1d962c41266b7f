import { describe, expect, test } from 'vitest';
import { rrOutliers } from '../../../../src/core/hrv/outliers';
import { randomFromNumber } from '../../../../src/core/random';

/** Beat times in ms of a quiet heart: breathing and some noise. */
function beats(seed: number, n = 400): number[] {
  const random = randomFromNumber(seed);
  let t = 0;
  return Array.from({ length: n }, () => {
    t += 850 + 30 * Math.sin((2 * Math.PI * 0.25 * t) / 1000) + 10 * random.normal();
    return t;
  });
}

const intervals = (times: readonly number[]) => times.slice(1).map((t, i) => t - times[i]!);
const planted = [60, 137, 201, 290, 333];

// source: Lipponen & Tarvainen, J Med Eng Technol 2019;43:173: each planted artefact falls in its class
describe('classes of planted RR artefacts', () => {
  test('none planted, none found', () => {
    for (let seed = 0; seed < 10; seed++) expect(rrOutliers(intervals(beats(seed)))).toEqual([]);
  });

  test('a missed beat', () => {
    const times = beats(1).filter((_, i) => !planted.includes(i));
    expect(rrOutliers(intervals(times))).toEqual(planted.map((p, k) => ({ index: p - 1 - k, kind: 'missed' })));
  });

  test('an extra mark', () => {
    const times = beats(2);
    const all = [...times, ...planted.map(p => (times[p]! + times[p + 1]!) / 2)].sort((a, b) => a - b);
    expect(rrOutliers(intervals(all))).toEqual(planted.map((p, k) => ({ index: p + k, kind: 'extra' })));
  });

  test('a beat that comes early, with its pause: both intervals', () => {
    const times = beats(3).map((t, i) => (planted.includes(i) ? t - 300 : t));
    expect(rrOutliers(intervals(times))).toEqual(
      planted.flatMap(p => [
        { index: p - 1, kind: 'ectopic' },
        { index: p, kind: 'ectopic' },
      ]),
    );
  });

  test('a long interval that is not two', () => {
    const times = beats(4).map((t, i) => (i >= 200 ? t + 350 : t));
    expect(rrOutliers(intervals(times))).toEqual([{ index: 199, kind: 'long' }]);
  });

  test('a short interval that is not half of one', () => {
    const times = beats(5).map((t, i) => (i >= 200 ? t - 300 : t));
    expect(rrOutliers(intervals(times))).toEqual([{ index: 199, kind: 'short' }]);
  });

  test('too few or constant intervals have none', () => {
    expect(rrOutliers([])).toEqual([]);
    expect(rrOutliers([800, 1600, 800])).toEqual([]);
    expect(rrOutliers(Array.from({ length: 200 }, () => 800))).toEqual([]);
  });
});
