import { expect, test } from 'vitest';
import { edfDifferential } from '../../../fuzz/edf-values';
import { randomFrom } from '../../../fuzz/mutate';

// source: a plain reader of the published layout (tests/fuzz/edf-values.ts); the long run is `npm run fuzz:values`
test('EDF and BDF in random shapes: every sample and its time as a plain reader has them', async () => {
  const random = randomFrom(20261129);
  const counts: Record<string, number> = {};
  for (let i = 0; i < 100; i++) {
    const { verdict, made, why } = await edfDifferential(random);
    counts[verdict] = (counts[verdict] ?? 0) + 1;
    expect([verdict, why, made.shape]).not.toContain('silently different');
  }
  expect(counts['the same']).toBeGreaterThan(90);
});
