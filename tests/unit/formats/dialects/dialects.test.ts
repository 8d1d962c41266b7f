import { describe, expect, test } from 'vitest';
import { type Dialect, type Outcome, readMarksDialect, readSegmentsDialect, readSignalDialect } from './dialect';
import { markDialects, segmentDialects } from './lists';
import { signalDialects } from './signals';

/** Every doubt that is expected is there, and no other. */
function expectAsked({ asked }: Dialect, { doubts }: Outcome): void {
  for (const words of asked) expect(doubts.join('\n')).toMatch(words);
  expect(doubts.filter(d => !asked.some(words => words.test(d)))).toEqual([]);
}

// source: each file is written from the values it must give; common practice for how laboratories write them
describe('signals', () => {
  test.each(signalDialects.map(d => [d.name, d] as const))('%s', async (_name, d) => {
    const { recording, mv, outcome } = await readSignalDialect(d);
    expect(recording.samplingRateHz).toBe(d.rateHz);
    expect(recording.leads).toHaveLength(d.mv.length);
    expect(mv).toEqual(d.mv);
    expect(recording.sampleCount).toBe(d.samples);
    expect(recording.gaps.map(g => [g.start, g.end])).toEqual(d.gaps ?? []);
    if (d.startedAt !== undefined) expect(recording.startedAt).toBe(d.startedAt);
    expectAsked(d, outcome);
  });
});

describe('marks', () => {
  test.each(markDialects.map(d => [d.name, d] as const))('%s', async (_name, d) => {
    const { samples, outcome } = await readMarksDialect(d);
    expect(samples).toEqual(d.samples);
    expectAsked(d, outcome);
  });
});

describe('segments', () => {
  test.each(segmentDialects.map(d => [d.name, d] as const))('%s', async (_name, d) => {
    const { samples, outcome } = await readSegmentsDialect(d);
    expect(samples).toEqual(d.samples);
    expectAsked(d, outcome);
  });
});
