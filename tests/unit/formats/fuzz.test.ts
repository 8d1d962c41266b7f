import { expect, test } from 'vitest';
import { bundleTargets } from '../../fuzz/bundles';
import { fuzz, fuzzTargets } from '../../fuzz/readers';

const targets = await fuzzTargets();
/** Bundles take ten times as long to read as a file. */
const slow = new Set((await bundleTargets()).map(t => t.name));

/** These hold a whole table. */
const arrays = new Set(['NumPy array', 'NumPy arrays (.npz)', 'array in an .npz', 'MAT-file', 'Parquet']);

// The long run is `tsx tests/fuzz/formats.ts --inputs 100000`.
test.each(targets.map(t => [t.name, t] as const))(
  '%s: damaged files give a value or a FormatError',
  async (name, target) => {
    const inputs = slow.has(name) ? 800 : arrays.has(name) ? 150 : 500;
    const result = await fuzz(target, inputs, 20260314);
    expect(result.failures).toEqual([]);
    expect(result.values + result.formatErrors).toBe(inputs);
    expect(result.values).toBeGreaterThan(0);
  },
);

test.each(targets.map(t => [t.name, t] as const))('%s: the undamaged examples read', async (_name, target) => {
  for (const bytes of target.seeds)
    await expect(
      target.read({ name: 'x', size: bytes.length, read: async (a, b) => bytes.subarray(a, b) }),
    ).resolves.toBeDefined();
});
