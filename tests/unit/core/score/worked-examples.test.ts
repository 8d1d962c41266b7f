import { describe, expect, test } from 'vitest';
import { scoreExample, workedExamples } from '../../../../src/core/known-answers/worked-examples';
import { scoreRow } from '../../../../src/core/score/measures';

// source: by hand from the definition of RR-interval quality
describe.each([100, 250, 360, 1000])('worked examples at %i Hz', rateHz => {
  test.each(workedExamples)('$title', example => {
    const score = scoreExample(example, rateHz);
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
