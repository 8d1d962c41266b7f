import { describe, expect, test } from 'vitest';
import { scoreExample, workedExamples } from '../../../../src/core/known-answers/worked-examples';
import { errorRunsMethod } from '../../../../src/core/score/error-runs';
import { measures, qualityOf, scoreReport, scoreRow } from '../../../../src/core/score/measures';
import type { Counts, SegmentScore } from '../../../../src/core/score/score';
import { span } from '../../../../src/core/units';

const counts: Counts = {
  beats: 40,
  marks: 44,
  onPeak: 36,
  refined: 6,
  missed: 3,
  wrongPeak: 1,
  extra: 7,
  offPeakMarks: 8,
  judged: 35,
  right: 28,
  wrongByMissed: 4,
  wrongByWrongPeak: 2,
  wrongByExtra: 1,
  lost: 5,
  lostUnreadable: 3,
  lostNoSignal: 2,
  ownIntervals: 32,
  ownRight: 28,
  seconds: 60,
  unreadableSeconds: 4,
  noSignalSeconds: 2.5,
};
const nothing = Object.fromEntries(Object.keys(counts).map(key => [key, 0])) as unknown as Counts;

function scored(part: Partial<Counts> = {}, errorsMs: number[] = [50, -20, 30, 10, -40]): SegmentScore {
  return {
    segment: { name: 'uphill walk', ...span(100, 6100) },
    counts: { ...counts, ...part },
    lostStretches: [],
    intervalErrorsMs: () => Float64Array.from(errorsMs),
    errorRuns: () => [7, 5],
  };
}

const empty = (part: Partial<Counts> = {}) => scored({ ...nothing, ...part }, []);

describe('the measures of a segment', () => {
  // source: by hand from the definitions of quality and of peak-level scores; TP 36, FN 4, FP 8
  test('are shares of their own counts', () => {
    const m = measures(scored());
    expect(m.quality).toEqual({ value: 70, n: 40 });
    expect(m.readableQuality).toEqual({ value: 80, n: 35 });
    expect(m.ownQuality).toEqual({ value: 87.5, n: 32 });
    expect(m.sensitivity).toEqual({ value: 0.9, n: 40 });
    expect(m.ppv).toEqual({ value: 36 / 44, n: 44 });
    expect(m.f1).toEqual({ value: 72 / 84, n: 84 });
    expect(m.detectionErrorRate).toEqual({ value: 0.3, n: 40 });
  });

  // source: Newcombe 1998, method 3, by hand for 28 of 40 with z = 1.959964
  test('have a Wilson interval in percent about the quality, as if intervals were independent', () => {
    const [low, high] = qualityOf(scored()).qualityInterval95IfIndependent!;
    expect(low).toBeCloseTo(54.57, 2);
    expect(high).toBeCloseTo(81.925, 2);
  });

  // source: R 4.2, qbeta at 40 / 6.117647 intervals, runs of 7 and 5 and five of 6: (5 x 6 + 49 + 25) / (5 + 7 + 5)
  test('have an interval at the effective number of intervals', () => {
    const [low, high] = qualityOf(scored()).qualityInterval95!;
    expect(low).toBeCloseTo(26.49316, 4);
    expect(high).toBeCloseTo(96.25603, 4);
  });

  // source: by hand; squares about the mean 5320, divided by 4; type 7 at 3.8 between 40 and 50
  test('have the mean, SD and 95th percentile of the absolute interval errors', () => {
    const m = measures(scored());
    expect(m.meanErrorMs).toEqual({ value: 6, n: 5 });
    expect(m.sdErrorMs).toMatchObject({ value: expect.closeTo(Math.sqrt(1330), 12), n: 5 });
    expect(m.p95AbsErrorMs).toMatchObject({ value: expect.closeTo(48, 12), n: 5 });
    const one = measures(scored({}, [-3]));
    expect([one.meanErrorMs.value, one.p95AbsErrorMs.value]).toEqual([-3, 3]);
    expect(one.sdErrorMs).toEqual({ value: null, reason: 'needs two right intervals' });
    expect(measures(scored({}, [-3, 3])).sdErrorMs).toMatchObject({ value: expect.closeTo(Math.sqrt(18), 12), n: 2 });
  });
});

describe('what cannot be computed has its reason and never a number', () => {
  test('a segment with nothing in it', () => {
    const m = measures(empty());
    for (const value of Object.values(m)) expect(value === null || value.value === null).toBe(true);
    expect(m.quality).toEqual({ value: null, reason: 'no readable beat' });
    expect(m.readableQuality).toEqual({ value: null, reason: 'no readable beat' });
    expect(m.qualityInterval95).toBeNull();
  });

  test('a single beat makes no interval', () => {
    const reason = 'no pair of consecutive readable beats';
    const m = measures(empty({ beats: 1, marks: 1, onPeak: 1 }));
    expect(m.quality).toEqual({ value: null, reason });
    expect(m.readableQuality).toEqual({ value: null, reason });
    expect(m.sensitivity).toEqual({ value: 1, n: 1 });
  });

  test('lost intervals that cannot be estimated', () => {
    const { quality, qualityInterval95, readableQuality } = measures(scored({ lost: null }));
    expect([quality, qualityInterval95]).toEqual([{ value: null, reason: 'no readable beat' }, null]);
    expect(readableQuality.value).toBe(80);
  });

  test('all lost is 0 % of what was lost, and the readable part has no value', () => {
    const m = measures(empty({ lost: 5 }));
    expect(m.quality).toEqual({ value: 0, n: 5 });
    expect(m.qualityInterval95![0]).toBe(0);
    expect(m.readableQuality.value).toBeNull();
  });

  test('marks without beats still have a predictive value', () => {
    const m = measures(empty({ marks: 2, extra: 2, offPeakMarks: 2 }));
    expect([m.ppv.value, m.f1.value, m.sensitivity.value, m.detectionErrorRate.value]).toEqual([0, 0, null, null]);
  });
});

describe('a row of results', () => {
  test('holds every count and value under its name, and no reason where all is there', () => {
    expect(scoreRow(scored())).toEqual({
      name: 'uphill walk',
      startSample: 100,
      endSample: 6100,
      beats: 40,
      detectedMarks: 44,
      missed: 3,
      wrongPeak: 1,
      extra: 7,
      refined: 6,
      judgedIntervals: 35,
      lostIntervals: 5,
      lostToNoSignal: 2,
      rightIntervals: 28,
      qualityPercent: 70,
      qualityInterval95: [expect.closeTo(26.493, 2), expect.closeTo(96.256, 2)],
      qualityInterval95IfIndependent: [expect.closeTo(54.57, 2), expect.closeTo(81.925, 2)],
      readableQualityPercent: 80,
      ownIntervals: 32,
      ownRightIntervals: 28,
      ownQualityPercent: 87.5,
      wrongByMissed: 4,
      wrongByWrongPeak: 2,
      wrongByExtra: 1,
      truePositives: 36,
      falseNegatives: 4,
      falsePositives: 8,
      sensitivity: 0.9,
      ppv: 36 / 44,
      f1: 72 / 84,
      detectionErrorRate: 0.3,
      unreadableSeconds: 4,
      noSignalSeconds: 2.5,
      meanErrorMs: 6,
      sdErrorMs: expect.closeTo(Math.sqrt(1330), 12),
      p95AbsErrorMs: expect.closeTo(48, 12),
    });
  });

  test('names a reason for each null, that of the quality first', () => {
    const row = scoreRow(empty({ lost: null, marks: 1 }));
    expect(row).toMatchObject({ lostIntervals: null, qualityPercent: null, ppv: 0, reason: 'no readable beat' });
    expect(row['reasons']).toMatchObject({ lostIntervals: 'no readable beat', qualityPercent: 'no readable beat' });
    const without = Object.keys(row['reasons'] as object);
    for (const [key, value] of Object.entries(row)) {
      if (!key.startsWith('qualityInterval95')) expect(without.includes(key), key).toBe(value === null);
    }
  });

  test('with a quality names what else is missing', () => {
    expect(scoreRow(scored({ ownIntervals: 0, ownRight: 0 }))).toMatchObject({
      qualityPercent: 70,
      reason: 'the recorder has no RR interval here',
      reasons: { ownQualityPercent: 'the recorder has no RR interval here' },
    });
    expect(scoreRow(scored())).not.toHaveProperty('reasons');
  });

  test('stands in a report with the settings it was counted by', () => {
    const score = scoreExample(workedExamples[1]!, 250);
    expect(scoreReport(score)).toEqual({
      settings: {
        samplingRateHz: 250,
        onPeakToleranceMs: 50,
        wrongPeakWindowMs: 400,
        qualityIntervalMethod: errorRunsMethod,
      },
      segments: [scoreRow(score.segments[0]!)],
      total: scoreRow(score.total),
    });
  });
});
