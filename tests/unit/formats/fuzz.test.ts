import { expect, test } from 'vitest';
import { fuzz, fuzzTargets } from '../../fuzz/readers';

const targets = await fuzzTargets();

// The long run is `tsx tests/fuzz/formats.ts --inputs 100000`.
test.each(targets.map(t => [t.name, t] as const))(
  '%s: 2000 damaged files give a value or a FormatError',
  async (_name, target) => {
    const result = await fuzz(target, 2000, 20260314);
    expect(result.failures).toEqual([]);
    expect(result.values + result.formatErrors).toBe(2000);
    expect(result.values).toBeGreaterThan(0);
  },
);

test.each(targets.map(t => [t.name, t] as const))('%s: the undamaged examples read', async (_name, target) => {
  for (const bytes of target.seeds)
    await expect(
      target.read({ name: 'x', size: bytes.length, read: async (a, b) => bytes.subarray(a, b) }),
    ).resolves.toBeDefined();
});
