import { describe, expect, test } from 'vitest';
import { nnIntervals } from '../../../../../src/core/hrv/nn';
import { timeDomain } from '../../../../../src/core/hrv/time-domain';
import { marksFrom, noMarks } from '../../../../../src/core/marks/markset';
import { randomFromNumber } from '../../../../../src/core/random';
import { pairedHeartRate, pairedIntervals, pairedRmssd } from '../../../../../src/core/report/pairs/paired-measures';
import { span } from '../../../../../src/core/units';

const random = randomFromNumber(6);
let t = 1000;
const beats = Array.from({ length: 200 }, () => (t += Math.round(800 + 40 * random.normal())));
const series = (marks: readonly number[], excluded: readonly [number, number][] = []) =>
  nnIntervals(
    {
      beats: marksFrom(marks),
      excluded: excluded.map(([a, b]) => span(a, b)),
      nonSinus: noMarks,
      samplingRateHz: 1000,
    },
    span(0, 1_000_000),
  );

describe('paired values of two recorders', () => {
  test('the same marks pair with themselves', () => {
    const pairs = pairedIntervals(series(beats), series(beats));
    expect(pairs.aMs.length).toBe(199);
    expect(pairs.aMs).toEqual(pairs.bMs);
    expect(pairedRmssd(pairs).a[0]).toBeCloseTo(timeDomain(series(beats)).rmssdMs.value!, 10);
  });

  test('clocks that differ are brought together; intervals keep their own clock', () => {
    const clock = { offsetSeconds: 12.5, driftPpm: 100 };
    const b = beats.map(s => Math.round(12_500 + 1.0001 * s));
    const pairs = pairedIntervals(series(beats), series(b), clock);
    expect(pairs.aMs.length).toBe(199);
    for (let i = 0; i < 199; i++) expect(Math.abs(pairs.aMs[i]! - pairs.bMs[i]!)).toBeLessThanOrEqual(2);
  });

  test('a missed beat takes out two intervals, an unreadable span its own; differences stop there', () => {
    const pairs = pairedIntervals(
      series(beats.filter((_, i) => i !== 50)),
      series(beats, [[beats[100]! - 5, beats[100]! + 5]]),
    );
    expect(pairs.aMs.length).toBe(199 - 2 - 2);
    expect(pairs.adjacent.reduce((a, b) => a + b, 0)).toBe(195 - 3);
  });

  // source: common practice, bpm = 60000 / RR ms
  test('heart rate in windows of ten seconds, half-covered ones passed over', () => {
    const steady = Array.from({ length: 41 }, (_, i) => 800 * i);
    const fast = steady.map(s => s + 20);
    const { a, b } = pairedHeartRate(pairedIntervals(series(steady), series(fast)), 0);
    expect([...a]).toEqual([75, 75, 75]);
    expect([...b]).toEqual([75, 75, 75]);
  });

  test('RMSSD needs 30 differences', () => {
    const few = series(beats.slice(0, 31));
    expect(pairedRmssd(pairedIntervals(few, few)).a.length).toBe(0);
    const enough = series(beats.slice(0, 32));
    expect(pairedRmssd(pairedIntervals(enough, enough)).a.length).toBe(1);
  });
});
