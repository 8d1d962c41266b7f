import { describe, expect, test } from 'vitest';
import { beatProbabilities, bestSequence, type Chain } from '../../../../src/core/detector/chain';
import { randomFrom } from '../../../../src/core/random';

const reach = 30;
const lost = -2.5;

function randomChain(seed: string): Chain {
  const random = randomFrom(seed);
  const count = 9;
  const at: number[] = [];
  for (let t = 0, k = 0; k < count; k++) at.push((t += 1 + random.integer(20)));
  const weights = Array.from({ length: count * count }, () => -3 * random.uniform());
  const join = (i: number, j: number) => (at[j]! - at[i]! < 5 ? Number.NEGATIVE_INFINITY : weights[i * count + j]!);
  return { at, count, evidence: Array.from(at, () => random.between(-3, 3)), join, reach, lost };
}

/** Every subset of the candidates with its log-weight: source of the expected values. */
function allSequences({ at, count, evidence, join }: Chain): { chosen: number[]; weight: number }[] {
  return Array.from({ length: 2 ** count }, (_, bits) => {
    const chosen = Array.from(at, (_, k) => (bits >> k) & 1);
    let weight = 0;
    let last = -1;
    for (let k = 0; k < count; k++) {
      if (!chosen[k]) continue;
      weight += evidence[k]!;
      if (last >= 0) weight += at[k]! - at[last]! > reach ? lost : join(last, k);
      last = k;
    }
    return { chosen, weight };
  });
}

describe('sequences of beats among candidates (source: every one of 512 sequences looked at)', () => {
  test.each(['a', 'b', 'c', 'd', 'e', 'f'])('the best one, seed %s', seed => {
    const chain = randomChain(seed);
    const chosen = new Uint8Array(chain.count);
    bestSequence(chain, chosen);
    const best = allSequences(chain).reduce((a, b) => (b.weight > a.weight ? b : a));
    expect([...chosen]).toEqual(best.chosen);
  });

  test.each(['a', 'b', 'c', 'd', 'e', 'f'])('the probability of each candidate, seed %s', seed => {
    const chain = randomChain(seed);
    const probability = new Float32Array(chain.count);
    beatProbabilities(chain, probability);
    const all = allSequences(chain);
    const total = all.reduce((sum, s) => sum + Math.exp(s.weight), 0);
    for (let k = 0; k < chain.count; k++) {
      const with_ = all.reduce((sum, s) => sum + (s.chosen[k] ? Math.exp(s.weight) : 0), 0);
      expect(probability[k]).toBeCloseTo(with_ / total, 5);
    }
  });

  test('no candidate, no beat', () => {
    const chain: Chain = { at: [], count: 0, evidence: [], join: () => 0, reach, lost };
    const none = new Float32Array(0);
    beatProbabilities(chain, none);
    bestSequence(chain, new Uint8Array(0));
    expect(none.length).toBe(0);
  });
});
