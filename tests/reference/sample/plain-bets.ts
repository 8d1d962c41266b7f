import type { StretchCount } from '../../../src/core/sample/count';
import type { Population } from '../../../src/core/sample/population';

/**
 * The two bets against one share p of wrong intervals, written down as published and for drawn stretches alone, quick enough
 * for thousands of draws. Returns the largest capital either bettor reached, and what they have in the end.
 */
export function plainBets(
  { stretches, weights }: Population,
  order: Int32Array,
  counts: readonly StretchCount[],
  p: number,
) {
  const H = weights.length;
  const W = new Float64Array(H);
  const left = new Int32Array(H);
  for (const { bound, group } of stretches) {
    W[group]! += bound;
    left[group]!++;
  }
  const prior = [0.003, 0.7, 0.001, 0.0021, 0.5145];
  const all = new Float64Array(5);
  const own = new Float64Array(5 * H);
  const ownN = new Float64Array(H);
  const mean = new Float64Array(5 * H);
  const k = new Float64Array(H);
  let [SE, SM, n, plus, minus, largest] = [0, 0, 0, 1, 1, 1];
  for (const i of order) {
    const { bound: u, group } = stretches[i]!;
    const { errors: e, intervals: m } = counts[i]!;
    let [G, K, V, top, bottom] = [0, 0, 0, Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
    for (let h = 0; h < H; h++) {
      for (let q = 0; q < 5; q++) {
        const pooled = (all[q]! + 3 * prior[q]!) / (n + 3);
        mean[5 * h + q] = (own[5 * h + q]! + 3 * pooled) / (ownN[h]! + 3);
      }
      k[h] = mean[5 * h]! - p * mean[5 * h + 1]!;
      if (left[h] === 0) continue;
      G += weights[h]! * W[h]!;
      K += W[h]! * k[h]!;
      top = Math.max(top, (1 - p - k[h]!) / weights[h]!);
      bottom = Math.max(bottom, (p + k[h]!) / weights[h]!);
    }
    K /= G;
    for (let h = 0; h < H; h++) {
      if (left[h] === 0) continue;
      const [ee, em, mm] = [mean[5 * h + 2]!, mean[5 * h + 3]!, mean[5 * h + 4]!];
      V += (W[h]! / (G * weights[h]!)) * (ee - 2 * p * em + p * p * mm - k[h]! ** 2);
    }
    const c = -(SE - p * SM) / G;
    const mu = c - K;
    const d = c - (((e - p * m) / u - k[group]!) / weights[group]! + K);
    const lambda = mu / (V + mu * mu);
    if (lambda > 0 && top - mu > 0) plus *= 1 + Math.min(lambda, 0.98 / (top - mu)) * d;
    if (lambda < 0 && bottom + mu > 0) minus *= 1 - Math.min(-lambda, 0.98 / (bottom + mu)) * d;
    largest = Math.max(largest, plus, minus);
    SE += e;
    SM += m;
    W[group]! -= u;
    left[group]!--;
    const values = [e / u, m / u, (e / u) ** 2, (e * m) / u ** 2, (m / u) ** 2];
    for (let q = 0; q < 5; q++) {
      all[q]! += values[q]!;
      own[5 * group + q]! += values[q]!;
    }
    ownN[group]!++;
    n++;
  }
  return { plus, minus, largest };
}
