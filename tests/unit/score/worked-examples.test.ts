import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../src/core/marks/match';
import { scoreRow } from '../../../src/core/score/measures';
import { scoreRecording } from '../../../src/core/score/score';
import { span, toSample } from '../../../src/core/units';
import { beatsSeconds, workedExamples } from './worked-examples';

const marksAt = (times: readonly number[], rateHz: number) => marksFrom(times.map(t => toSample(t, rateHz)));

describe.each([100, 250, 360, 1000])('worked examples at %i Hz', rateHz => {
  test.each(workedExamples)('$title', example => {
    const score = scoreRecording({
      beats: marksAt(beatsSeconds, rateHz),
      marks: marksAt(example.marksSeconds, rateHz),
      unreadable: (example.unreadableSeconds ?? []).map(([a, b]) => span(toSample(a, rateHz), toSample(b, rateHz))),
      gaps: [],
      segments: [{ name: 'whole', ...span(0, 11 * rateHz) }],
      samplingRateHz: rateHz,
      settings: defaultMatchSettings,
    });
    expect(scoreRow(score.segments[0]!)).toMatchObject({
      missed: example.missed,
      wrongPeak: example.wrongPeak,
      extra: example.extra,
      judgedIntervals: example.judged,
      lostIntervals: example.lost,
      rightIntervals: example.right,
      qualityPercent: example.qualityPercent,
      readableQualityPercent: example.readableQualityPercent ?? example.qualityPercent,
    });
    expect(scoreRow(score.total)).toEqual({ ...scoreRow(score.segments[0]!), name: 'whole' });
  });
});
