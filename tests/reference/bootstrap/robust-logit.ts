import { tQuantile } from '../../../src/core/score/distributions';
import type { Interval } from '../../../src/core/score/result';

/**
 * Cluster-robust logit of a pooled proportion, tried against what the project uses: working independence, standard error
 * of Bell & McCaffrey (Surv Methodol 2002;28:169, the kind called CR2), t interval. Degrees of freedom either theirs,
 * which come from the sizes of the clusters, or by Satterthwaite from the spread of the squared residuals (Pan & Wall,
 * Stat Med 2002;21:1429; from memory). Null where the logit has no value.
 */
export function robustLogit(
  parts: Float64Array,
  wholes: Float64Array,
  df: 'bell-mccaffrey' | 'satterthwaite',
): Interval | null {
  const n = wholes.length;
  const part = parts.reduce((a, b) => a + b, 0);
  const whole = wholes.reduce((a, b) => a + b, 0);
  const p = part / whole;
  if (n < 2 || part === 0 || part === whole) return null;
  const squares = parts.map((x, i) => (x - p * wholes[i]!) ** 2);
  const leverages = wholes.map(m => m / whole);
  const variance = squares.reduce((sum, s, i) => sum + s / (1 - leverages[i]!), 0) / whole ** 2;
  if (!(variance > 0)) return null;
  const freedom = df === 'satterthwaite' ? satterthwaite(squares) : bellMcCaffrey(leverages);
  const half = (quantile(freedom) * Math.sqrt(variance)) / (p * (1 - p));
  const centre = Math.log(p / (1 - p));
  return [1 / (1 + Math.exp(half - centre)), 1 / (1 + Math.exp(-half - centre))];
}

/** Of the trace of the quadratic form over its square, working independence; n - 1 where all clusters are of one size. */
function bellMcCaffrey(leverages: Float64Array): number {
  let trace = 0;
  for (let i = 0; i < leverages.length; i++) {
    trace += leverages[i]! ** 2;
    for (let k = 0; k < leverages.length; k++) {
      if (k === i) continue;
      trace += (leverages[i]! * leverages[k]!) ** 2 / ((1 - leverages[i]!) * (1 - leverages[k]!));
    }
  }
  return 1 / trace;
}

function satterthwaite(squares: Float64Array): number {
  const n = squares.length;
  const sum = squares.reduce((a, b) => a + b, 0);
  const fourth = squares.reduce((a, b) => a + b * b, 0);
  const spread = (n / (n - 1)) * (fourth - (sum * sum) / n);
  return spread > 0 ? Math.min(n - 1, Math.max(1, (2 * sum * sum) / spread)) : n - 1;
}

const known = new Map<string, number>();

function quantile(df: number): number {
  const key = df.toFixed(2);
  const value = known.get(key) ?? tQuantile(0.975, Number(key));
  known.set(key, value);
  return value;
}
