import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { differential } from '../../../fuzz/dialects';
import { randomFrom } from '../../../fuzz/mutate';
import { amount } from '../../amount';
import { type Dialect, type Outcome, readMarksDialect, readSegmentsDialect, readSignalDialect } from './dialect';
import { markDialects, segmentDialects } from './lists';
import { signalDialects } from './signals';
import { dialectTable } from './table';

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

test('the table in tests/README.md is what the readers say', async () => {
  const readme = readFileSync(join(import.meta.dirname, '../../../README.md'), 'utf8');
  expect(readme).toContain(await dialectTable());
});

// source: the values that were written
test('tables in random dialects are read as they were written, or asked about', async () => {
  const random = randomFrom(31);
  for (let i = 0; i < amount(250, 40); i++) {
    const { verdict, dialect } = await differential(random);
    expect(verdict, dialect).not.toBe('silently different');
    expect(verdict, dialect).not.toBe('refused');
  }
});
