import { withPage } from './browser';
import type { Bench } from './measure';

type Steps = typeof import('../browser/pages/storage-steps');

export const appendBench: Bench = {
  name: 'append',
  says: 'one edit until it is committed, in an empty log and after 10,000 entries; and reading those back',
  run: () =>
    withPage<Steps, Awaited<ReturnType<Bench['run']>>>('storage-steps', async ({ call }) => {
      const empty = await call('appendMany', 'R2', 400);
      await call('foldTenThousand');
      const long = await call('appendMany', 'R1', 400);
      const reads: number[] = [];
      for (let round = 0; round < 7; round++) reads.push((await call('storedLog', 'R1')).readMs);
      return [
        { of: 'empty log', value: empty.medianMs, unit: 'ms', limit: null },
        { of: 'after 10,000 entries', value: long.medianMs, unit: 'ms', limit: null },
        { of: 'growth', value: long.medianMs / empty.medianMs, unit: 'x', limit: 1.5 },
        { of: 'reading 10,000 entries', value: reads.sort((a, b) => a - b)[3]!, unit: 'ms', limit: 100 },
      ];
    }),
};
