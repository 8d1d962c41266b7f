/**
 * Sequences of beats among candidates, weighed by what speaks for each candidate and for each interval between two
 * neighbours. One dynamic program gives the best sequence and, summed instead of maximised, the probability of each
 * candidate over all sequences.
 * Sources: Viterbi, IEEE Trans Inf Theory 1967;13:260; forward-backward sums, Rabiner, Proc IEEE 1989;77:257.
 */
export interface Chain {
  /** Candidates in order of time, and how many of them are in use. */
  readonly at: ArrayLike<number>;
  readonly count: number;
  /** Log-odds of each candidate by itself. */
  readonly evidence: ArrayLike<number>;
  /** Log-weight of the interval between neighbouring beats i and j; minus infinity where it cannot be. */
  readonly join: (i: number, j: number) => number;
  /** Intervals longer than this all weigh `lost`. */
  readonly reach: number;
  readonly lost: number;
}

/** Marks the candidates of the best sequence with 1 in `chosen`, by their number in the chain. */
export function bestSequence(chain: Chain, chosen: Uint8Array): void {
  const { at, count, evidence, reach, lost } = chain;
  const best = new Float64Array(count);
  const from = new Int32Array(count).fill(-1);
  let far = -1;
  let near = 0;
  for (let j = 0; j < count; j++) {
    for (; at[j]! - at[near]! > reach; near++) if (far < 0 || best[near]! > best[far]!) far = near;
    let top = 0;
    if (far >= 0 && best[far]! + lost > top) {
      top = best[far]! + lost;
      from[j] = far;
    }
    for (let i = j - 1; i >= near; i--) {
      // No interval weighs more than nothing, so that this one cannot be the best.
      if (best[i]! <= top) continue;
      const value = best[i]! + chain.join(i, j);
      if (value > top) {
        top = value;
        from[j] = i;
      }
    }
    best[j] = top + evidence[j]!;
  }
  chosen.fill(0);
  let top = -1;
  for (let j = 0; j < count; j++) if (best[j]! > 0 && (top < 0 || best[j]! > best[top]!)) top = j;
  for (let j = top; j >= 0; j = from[j]!) chosen[j] = 1;
}

/** The chain with all it weighs counting `sharpness` times: what it says is as sure as it turns out to be right. */
export function tempered(chain: Chain, sharpness: number): Chain {
  const evidence = new Float32Array(chain.count);
  for (let j = 0; j < chain.count; j++) evidence[j] = sharpness * chain.evidence[j]!;
  return {
    ...chain,
    evidence,
    join: (i, j) => sharpness * chain.join(i, j),
    lost: sharpness * chain.lost,
  };
}

/** A term smaller than another by this factor (log) does not change their sum as it is stored. */
const vanishing = 40;

/** Log of the sum of two numbers given by their logs. */
function logAdd(a: number, b: number): number {
  if (b - a > vanishing) return b;
  if (a - b > vanishing) return a;
  if (a < b) return a === Number.NEGATIVE_INFINITY ? b : b + Math.log1p(Math.exp(a - b));
  return b === Number.NEGATIVE_INFINITY ? a : a + Math.log1p(Math.exp(b - a));
}

/** Terms smaller than the largest by this factor (log) are left out of a sum. */
const negligible = 20;

/** Probability of each candidate to be a beat, over all sequences. */
export function beatProbabilities(chain: Chain, probability: Float32Array): void {
  const { count, evidence } = chain;
  const before = sumsBefore(chain);
  const after = sumsAfter(chain);
  // The sequence without any beat weighs 1.
  let total = 0;
  for (let j = 0; j < count; j++) total = logAdd(total, before[j]!);
  for (let j = 0; j < count; j++) probability[j] = Math.min(1, Math.exp(before[j]! + after[j]! - evidence[j]! - total));
}

/** Log of the summed weight of all sequences that end with each candidate. */
function sumsBefore({ at, count, evidence, reach, lost, join }: Chain): Float64Array {
  const out = new Float64Array(count);
  let far = Number.NEGATIVE_INFINITY;
  let near = 0;
  for (let j = 0; j < count; j++) {
    for (; at[j]! - at[near]! > reach; near++) far = logAdd(far, out[near]!);
    let sum = logAdd(0, far + lost);
    for (let i = j - 1; i >= near; i--) if (out[i]! > sum - negligible) sum = logAdd(sum, out[i]! + join(i, j));
    out[j] = sum + evidence[j]!;
  }
  return out;
}

/** Log of the summed weight of all sequences that start with each candidate. */
function sumsAfter({ at, count, evidence, reach, lost, join }: Chain): Float64Array {
  const out = new Float64Array(count);
  let far = Number.NEGATIVE_INFINITY;
  let near = count - 1;
  for (let i = count - 1; i >= 0; i--) {
    for (; at[near]! - at[i]! > reach; near--) far = logAdd(far, out[near]!);
    let sum = logAdd(0, far + lost);
    for (let j = i + 1; j <= near; j++) if (out[j]! > sum - negligible) sum = logAdd(sum, out[j]! + join(i, j));
    out[i] = sum + evidence[i]!;
  }
  return out;
}
