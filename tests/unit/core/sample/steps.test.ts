import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { SampledEntry, SamplePlan } from '../../../../src/core/marks/sampling';
import type { Segment } from '../../../../src/core/recording/recording';
import { planWithin, RunningSample, sampledNumber, stepsWithin } from '../../../../src/core/sample/number';
import { type LaidOutPlan, layOut, planSample } from '../../../../src/core/sample/plan';
import { nextDrawn, type Reviewed, stepsOf } from '../../../../src/core/sample/steps';
import { span } from '../../../../src/core/units';
import { amount } from '../../amount';

// What counts in which order follows from the rules of the method; expected steps are written out by hand.

const rateHz = 100;
const segments: Segment[] = [
  { name: 'night', ...span(0, 10_000) },
  { name: 'day', ...span(12_000, 20_000) },
];

function plan(seed: number, over: Partial<SamplePlan> = {}): LaidOutPlan {
  const planned = planSample({
    segment: null,
    seed,
    stretchSeconds: 5,
    contextSeconds: 2,
    halfWidth: null,
    segments,
    samplingRateHz: rateHz,
    detected: Int32Array.from({ length: 200 }, (_, i) => 100 * i),
    second: null,
    suspected: [{ at: 50, score: 0.5 }],
  });
  return layOut({ ...planned, ...over }, segments, rateHz);
}

const count = () => ({ errors: 0, intervals: 5 });
const laidOut = plan(3);
const [a, b, c] = [...laidOut.order] as [number, number, number];
const late = laidOut.order[20]!;

function entry(stretch: number, drawn: boolean, outcome: SampledEntry['outcome'] = 'reviewed'): SampledEntry {
  return { ...laidOut.stretches[stretch]!, drawn, outcome, place: 0 };
}

function kinds(reviewed: Partial<Reviewed>) {
  const steps = stepsOf(laidOut, { entries: [], withoutSignal: [], lookedAt: [], ...reviewed }, count)!;
  return steps.map(s => [s.stretch, s.kind]);
}

describe('steps', () => {
  test('are drawn ones in the order of the sample', () => {
    expect(kinds({ entries: [entry(a, true), entry(b, true)] })).toEqual([
      [a, 'drawn'],
      [b, 'drawn'],
    ]);
  });

  test('of one page count in the order of the sample, and not before their forerunners', () => {
    expect(kinds({ entries: [entry(c, true), entry(b, true)] })).toEqual([]);
    expect(kinds({ entries: [entry(c, true), entry(a, true)] })).toEqual([[a, 'drawn']]);
    expect(kinds({ entries: [entry(c, true), entry(b, true), entry(a, true)] })).toEqual([
      [a, 'drawn'],
      [b, 'drawn'],
      [c, 'drawn'],
    ]);
  });

  test('take known ones at once, and pass over them when they are drawn', () => {
    expect(kinds({ entries: [entry(b, false), entry(a, true), entry(c, true)] })).toEqual([
      [b, 'known'],
      [a, 'drawn'],
      [c, 'drawn'],
    ]);
  });

  test('begin with what has no signal and end with what was looked at otherwise', () => {
    expect(kinds({ entries: [entry(b, true)], withoutSignal: [a], lookedAt: [b, c, late] })).toEqual([
      [a, 'known'],
      [b, 'drawn'],
      [late, 'known'],
    ]);
  });

  test('do not take what is about to be shown for known', () => {
    expect(kinds({ lookedAt: [a, b, c] })).toEqual([]);
    expect(kinds({ lookedAt: [a, late] })).toEqual([[late, 'known']]);
  });

  test('keep a skipped one, until it is reviewed in its place', () => {
    const skipped = entry(a, true, 'skipped');
    expect(kinds({ entries: [skipped, entry(b, true)] })).toEqual([
      [a, 'skipped'],
      [b, 'drawn'],
    ]);
    const reviewed = [
      [a, 'drawn'],
      [b, 'drawn'],
    ];
    expect(kinds({ entries: [skipped, entry(b, true), entry(a, true)] })).toEqual(reviewed);
    expect(kinds({ entries: [skipped, entry(b, true)], lookedAt: [a] })).toEqual(reviewed);
  });

  test('leave out entries of another plan', () => {
    expect(kinds({ entries: [{ ...span(1, 501), drawn: true, outcome: 'reviewed', place: 0 }] })).toEqual([]);
  });

  test('cannot be counted where no interval can', () => {
    const reviewed = { entries: [entry(a, true)], withoutSignal: [], lookedAt: [] };
    expect(stepsOf(laidOut, reviewed, () => null)).toBeNull();
    expect(sampledNumber(laidOut, null, null).quality).toEqual({ value: null, reason: 'no readable beat' });
  });

  test('next are the first of the order that are not done', () => {
    expect(nextDrawn(laidOut, new Set([a, c]), 2)).toEqual([b, laidOut.order[3]]);
    expect(nextDrawn(laidOut, new Set(laidOut.order), 3)).toEqual([]);
  });
});

describe('the number', () => {
  const steps = (upTo: number, errors: (i: number) => number = () => 0) =>
    [...laidOut.order].slice(0, upTo).map(stretch => {
      return { stretch, kind: 'drawn' as const, errors: errors(stretch), intervals: 5 };
    });

  test('says how many of how many, and has no estimate before the first draw', () => {
    expect(sampledNumber(laidOut, [], null)).toMatchObject({
      stretches: 36,
      reviewed: 0,
      quality: { value: null, reason: 'no stretch reviewed yet' },
      interval95: null,
      reached: false,
      wantedPoints: 1,
    });
    const known = [{ stretch: a, kind: 'known' as const, errors: 0, intervals: 5 }];
    expect(sampledNumber(laidOut, known, null).quality).toEqual({ value: null, reason: 'no stretch drawn yet' });
    expect(sampledNumber(laidOut, steps(4), null)).toMatchObject({
      reviewed: 4,
      drawn: 4,
      quality: { value: 100, n: 4 },
    });
  });

  test('wants half a point from 99 %, else one, or what was chosen', () => {
    expect(sampledNumber(laidOut, steps(5), null).wantedPoints).toBe(0.5);
    expect(
      sampledNumber(
        laidOut,
        steps(5, () => 1),
        null,
      ).wantedPoints,
    ).toBe(1);
    expect(sampledNumber(plan(3, { halfWidth: 0.02 }), steps(5), null).wantedPoints).toBe(2);
  });

  test('of all stretches is exact and reached', () => {
    const all = sampledNumber(
      laidOut,
      steps(36, i => (i === a ? 1 : 0)),
      null,
    );
    expect(all).toMatchObject({ exact: true, reached: true, neededDraws: expect.any(Number) });
    expect(all.quality).toEqual({ value: expect.closeTo((100 * 179) / 180, 10), n: 36 });
  });

  test('running is what a replay gives, also after an earlier step has changed', () => {
    fc.assert(
      fc.property(fc.array(fc.record({ upTo: fc.nat(36), wrong: fc.nat(40) }), { maxLength: 6 }), looks => {
        const running = new RunningSample(laidOut, null);
        for (const { upTo, wrong } of looks) {
          const now = steps(upTo, i => (i === wrong ? 2 : 0));
          const [kept, fresh] = [running.after(now), sampledNumber(laidOut, now, null)];
          expect({ ...kept, interval95: null }).toEqual({ ...fresh, interval95: null });
          expect(kept.interval95?.[0] ?? 0).toBeCloseTo(fresh.interval95?.[0] ?? 0, 4);
        }
      }),
      { numRuns: amount(50, 5) },
    );
  });

  test('of one segment rests on its own stretches, in the same order', () => {
    const part = planWithin(laidOut, segments[1]!);
    expect(part.stretches.every(s => s.start >= 12_000)).toBe(true);
    const inside = [...laidOut.order].filter(i => laidOut.stretches[i]!.start >= 12_000);
    expect([...part.order].map(k => part.stretches[k]!.start)).toEqual(inside.map(i => laidOut.stretches[i]!.start));
    const own = stepsWithin(
      laidOut,
      part,
      steps(36, i => (i === inside[0] ? 1 : 0)),
    );
    expect(sampledNumber(part, own, 'day')).toMatchObject({ stretches: 16, reviewed: 16, segment: 'day', exact: true });
    expect(sampledNumber(part, own, 'day').quality.value).toBeCloseTo((100 * 79) / 80, 10);
  });

  test('a plan for other segments is refused', () => {
    expect(() => layOut(laidOut.plan, [segments[0]!], rateHz)).toThrow(
      'the plan is for 36 stretches, and there are 20',
    );
  });
});

// source: the most stretches that a log may hold (src/core/marks/sampling.ts)
test('what is too long to plan is refused with the longest that is not', () => {
  const whole = [{ name: 'whole', ...span(0, 60 * 86_400 * rateHz) }];
  const input = { segment: null, seed: 1, contextSeconds: 2, halfWidth: null, samplingRateHz: rateHz } as const;
  const of = () =>
    planSample({
      ...input,
      segments: whole,
      stretchSeconds: 5,
      detected: new Int32Array(0),
      second: null,
      suspected: [],
    });
  expect(of).toThrow('60.0 days are too long for a sample in stretches of 5 s: sample a segment of at most 7.0 days');
});
