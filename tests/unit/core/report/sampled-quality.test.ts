import { describe, expect, test } from 'vitest';
import type { SegmentRow } from '../../../../src/core/report/rows';
import { pooledHeldOf100, sampledTable, sampledText } from '../../../../src/core/report/sampled-quality';
import type { Standing } from '../../../../src/core/review/standing/reviewed-score';
import { effectiveSizeRatio } from '../../../../src/core/score/effective-size';
import stored from '../../../reference/sample/pooled-coverage.json' with { type: 'json' };

// Pooled numbers worked out by hand, on top of the interval over volunteers, which has tests of its own.

const sampled: Standing = {
  status: 'sampled',
  lookedAtShare: 0.3,
  sampled: {
    segment: 'watch',
    seed: 77,
    stretchSeconds: 5,
    stretches: 100,
    reviewed: 30,
    drawn: 28,
    known: 2,
    skipped: 0,
    quality: { value: 97, n: 30 },
    interval95: [95, 99],
    intervals: 300,
    exact: false,
    boundFactor: 1,
    wantedPoints: 1,
    reached: false,
    neededDraws: 60,
  },
};

function row(volunteer: string, standing: Standing, right = 198, over: Partial<SegmentRow> = {}): SegmentRow {
  const zero = { lostUnreadable: 0, lostNoSignal: 0, wrongByMissed: 0, wrongByWrongPeak: 0, wrongByExtra: 0 };
  return {
    session: volunteer,
    volunteer,
    recordingId: 'chest-band',
    recorder: 'chest band',
    activity: 'watch',
    source: 'R1',
    startSeconds: 0,
    endSeconds: 500,
    counts: { judged: 200, right, lost: 0, ...zero, missed: 1, wrongPeak: 0, extra: 0 },
    coverageShare: standing.lookedAtShare,
    coverageBy: [],
    standing,
    signedOff: true,
    signOffReason: null,
    otherTraceUsed: 0,
    ...over,
  };
}

const final: Standing = { status: 'final', lookedAtShare: 1 };
const begun: Standing = { status: 'so far', lookedAtShare: 0.2 };

describe('sampled and full reviews together', () => {
  test('carry the spread of the volunteers and the sampling variance of each', () => {
    const [found] = sampledTable([row('V01', final), row('V02', sampled), row('V03', begun)]);
    expect(found!.volunteers.map(v => [v.volunteer, v.review])).toEqual([
      ['V01', 'full review'],
      ['V02', 'sampled, 30 of 100 stretches'],
    ]);
    // (200 x 99 + 300 x 97) / 500, by hand; the sample weighs 0.6 and lies 2 points from either end of its interval.
    const { pooled } = found!;
    expect(pooled.value).toBeCloseTo(97.8, 10);
    const full = effectiveSizeRatio([198, 291], [200, 300]) as { interval: readonly [number, number] };
    const [low, high] = pooled.value !== null ? pooled.interval! : [0, 0];
    expect(low).toBeCloseTo(97.8 - Math.hypot(97.8 - 100 * full.interval[0], 0.6 * 2), 10);
    expect(high).toBeCloseTo(Math.min(100, 97.8 + Math.hypot(100 * full.interval[1] - 97.8, 0.6 * 2)), 10);
  });

  test('have an interval though no volunteer differs, and none from one alone', () => {
    const same = { ...sampled, sampled: { ...sampled.sampled!, quality: { value: 100, n: 30 } } };
    const [two] = sampledTable([row('V01', final, 200), row('V02', same)]);
    const { pooled } = two!;
    expect(pooled.value).toBe(100);
    expect(pooled.value !== null && pooled.interval![0]).toBeLessThan(95);
    const [one] = sampledTable([row('V02', sampled)]);
    expect(one!.pooled).toMatchObject({ value: 97, interval: null });
  });

  test('are not there where no review is a sample', () => {
    expect(sampledTable([row('V01', final), row('V02', begun)])).toEqual([]);
    expect(sampledText([row('V01', final)])).toBeNull();
  });

  test('are described with seed, number and what they do not cover', () => {
    const text = sampledText([row('V01', final), row('V02', sampled)])!;
    expect(text).toContain('1 of 2 segments were reviewed as a sample: stretches of 5 s');
    expect(text).toContain(
      'V02, chest band, watch, by R1: sampled, 30 of 100 stretches, 28 drawn, 2 known, 0 skipped, seed 77, quality 97.00 % (95 % interval 95.00 to 99.00 %)',
    );
    for (const words of ['does not cover mistakes of the rater', 'not computable from a sample']) {
      expect(text).toContain(words);
    }
  });
});

// Source: tests/reference/sample/pooled-coverage.ts, 2,000 studies a case.
describe('the pooled interval in simulated studies', () => {
  const cases = stored.found.flatMap(f => f.cases);

  test('holds the truth about as often as it says, and as often as the methods text says', () => {
    expect(stored.studies).toBe(2000);
    expect(cases).toHaveLength(64);
    const held = cases.map(c => Math.floor(100 * c.held));
    expect(pooledHeldOf100).toEqual({ least: Math.min(...held), most: Math.max(...held) });
    expect(cases.filter(c => c.held < 0.95).map(c => c.volunteers)).toEqual([24, 24]);
  });

  test('is no narrower where all are sampled than where half are', () => {
    for (const { cases: own } of stored.found.filter(f => f.truth > 0.99)) {
      for (const { volunteers, sampled, width } of own) {
        const half = own.find(c => c.volunteers === volunteers && c.sampled === 'half')!;
        if (sampled === 'all') expect(width).toBeGreaterThanOrEqual(half.width);
      }
    }
  });
});
