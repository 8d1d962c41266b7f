import { expect, test } from 'vitest';
import { sampledTable } from '../../../src/core/report/sampled-quality';
import { withoutSamples } from '../../../src/report/tables/sampled-table';

// source: definition
test('a table says that samples are not in it where there are any, and nothing where there are none', () => {
  const why = 'they are in the next table';
  expect(withoutSamples({ sampled: sampledTable([]) }, why)).toEqual([]);
  const one = { recorder: 'chest band', activity: 'uphill run', volunteers: [], sampled: 1 };
  const pooled = { value: null, reason: 'no volunteer' } as const;
  const sampled = [{ ...one, pooled }] as unknown as ReturnType<typeof sampledTable>;
  expect(withoutSamples({ sampled }, why)).toEqual([`Segments reviewed as a sample are left out: ${why}.`]);
});
