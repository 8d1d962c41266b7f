import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import { beatByBeatTable, peakLevel } from '../../../../src/core/score/peak-level';
import { span } from '../../../../src/core/units';

const record = (name: string, beats: number[], marks: number[]) => ({
  name,
  beats: marksFrom(beats),
  marks: marksFrom(marks),
  excluded: [],
  samplingRateHz: 1000,
});

describe('peak-level scores', () => {
  // source: ANSI/AAMI EC57, Se = TP / (TP + FN), +P = TP / (TP + FP); F1 and error rate by definition
  test('by hand', () => {
    expect(peakLevel({ truePositives: 90, falseNegatives: 10, falsePositives: 30 })).toEqual({
      sensitivity: { value: 0.9, n: 100 },
      positivePredictiveValue: { value: 0.75, n: 120 },
      f1: { value: 180 / 220, n: 220 },
      detectionErrorRate: { value: 0.4, n: 100 },
    });
  });

  test('without beats or marks there is a reason', () => {
    const none = peakLevel({ truePositives: 0, falseNegatives: 0, falsePositives: 0 });
    for (const value of Object.values(none)) expect(value.value).toBeNull();
  });
});

describe('beat-by-beat table', () => {
  const a = record('a', [1000, 2000, 3000, 4000], [1150, 1849, 3000, 3500]);
  const b = record('b', [1000, 2000], [1000, 2000]);

  // source: ANSI/AAMI EC57: a mark within 150 ms of a beat matches it; 1849 is 151 ms before 2000
  test('150 ms window, gross totals, record averages', () => {
    const table = beatByBeatTable([a, b]);
    expect(table.records[0]).toMatchObject({ name: 'a', truePositives: 2, falseNegatives: 2, falsePositives: 2 });
    expect(table.gross).toMatchObject({ truePositives: 4, falseNegatives: 2, falsePositives: 2 });
    expect(table.gross.sensitivity).toEqual({ value: 4 / 6, n: 6 });
    expect(table.average.sensitivity).toEqual({ value: 0.75, n: 2 });
    expect(table.average.positivePredictiveValue).toEqual({ value: 0.75, n: 2 });
  });

  // source: ANSI/AAMI EC57, learning period; the mark at 300.05 s belongs to the beat at 299.95 s, which is left out
  test('learning period', () => {
    const late = record('late', [10_000, 299_950, 301_000], [299_000, 300_050, 301_000, 302_000]);
    const table = beatByBeatTable([late], { matchWindowMs: 150, learningPeriodSeconds: 300 });
    expect(table.records[0]).toMatchObject({ truePositives: 1, falseNegatives: 0, falsePositives: 1 });
  });

  // source: definition; the period is half-open, as every stretch here
  test('a beat and a mark at the end of the learning period count', () => {
    const settings = { matchWindowMs: 150, learningPeriodSeconds: 300 };
    const matched = record('on', [299_000, 300_000, 301_000], [300_000, 301_000]);
    const apart = record('off', [299_000, 300_000], [299_000, 300_200]);
    const extra = record('extra', [299_000], [299_000, 300_000]);
    const [on, off, more] = beatByBeatTable([matched, apart, extra], settings).records;
    expect(on).toMatchObject({ truePositives: 2, falseNegatives: 0, falsePositives: 0 });
    expect(off).toMatchObject({ truePositives: 0, falseNegatives: 1, falsePositives: 1 });
    expect(more).toMatchObject({ truePositives: 0, falseNegatives: 0, falsePositives: 1 });
  });

  test('excluded spans count on neither side; a record without beats does not enter the average', () => {
    const hidden = { ...a, excluded: [span(900, 3100)] };
    const empty = record('empty', [], [500]);
    const table = beatByBeatTable([hidden, empty]);
    expect(table.records[0]).toMatchObject({ truePositives: 0, falseNegatives: 1, falsePositives: 1 });
    expect(table.records[1]!.sensitivity).toMatchObject({ value: null });
    expect(table.average.sensitivity).toEqual({ value: 0, n: 1 });
    expect(beatByBeatTable([]).average.f1).toMatchObject({ value: null });
  });
});
