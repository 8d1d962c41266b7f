import { sortedQuantile, sortFinite } from '../moments';
import { type BootstrapSettings, copyDraw, defaultBootstrapSettings, picksOf } from './bootstrap';
import { logistic, logitWithError } from './cluster-ratio';
import type { Ratio } from './effective-size';
import { type Estimate, type Interval, notComputable } from './result';

/** Variant and sources, for the report. Hall's paper is cited from memory. */
export const bootstrapTMethod =
  'cluster bootstrap by participant, symmetric bootstrap-t (Hall, J R Stat Soc B 1988;50:35; Efron & Tibshirani 1993, ch. 12.5), standard errors by the jackknife over participants (by linearization in draws in which one participant has every mistake), a pooled proportion on the logit scale';

/** A statistic of the participants listed (repeats allowed) and its standard error; NaN where it has none. */
export type Studentized = (participants: Int32Array) => readonly [value: number, error: number];

/**
 * Value -+ error x the quantile of |t| over the draws, t being a draw's distance from the value in its own standard
 * errors. Draws without an error are left out. In simulated studies it holds the truth where the other bootstrap
 * intervals are too short (tests/reference/bootstrap).
 */
function symmetricT(participants: number, statistic: Studentized, settings: BootstrapSettings): Interval | string {
  const [value, error] = statistic(Int32Array.from({ length: participants }, (_, i) => i));
  if (!(error > 0 && Number.isFinite(value))) return 'its standard error is not known';
  const picks = picksOf(participants, settings.draws, settings.seed);
  const picked = new Int32Array(participants);
  const distances = new Float64Array(settings.draws);
  let n = 0;
  for (let draw = 0; draw < settings.draws; draw++) {
    copyDraw(picks, draw, picked);
    const [drawn, own] = statistic(picked);
    const t = Math.abs(drawn - value) / own;
    if (Number.isFinite(t)) distances[n++] = t;
  }
  if (n < settings.draws / 2) return 'most resamples have no standard error';
  const half = error * sortedQuantile(sortFinite(distances.subarray(0, n)), settings.level);
  return [value - half, value + half];
}

/** Pooled proportion sum(parts) / sum(wholes), a fraction; n = participants with a whole. */
export function ratioBootstrapT(
  parts: ArrayLike<number>,
  wholes: ArrayLike<number>,
  settings: BootstrapSettings = defaultBootstrapSettings,
): Estimate {
  const used = Array.from({ length: wholes.length }, (_, i) => i).filter(i => wholes[i]! > 0);
  const part = used.reduce((sum, i) => sum + parts[i]!, 0);
  const whole = used.reduce((sum, i) => sum + wholes[i]!, 0);
  if (whole === 0) return notComputable('no interval to judge');
  const head = { value: part / whole, n: used.length, level: settings.level };
  const without = (intervalReason: string): Estimate => ({ ...head, interval: null, intervalReason });
  if (used.length < 2) return without('needs two participants');
  const drawnParts = new Float64Array(used.length);
  const drawnWholes = new Float64Array(used.length);
  const found = symmetricT(
    used.length,
    picked => {
      for (let i = 0; i < picked.length; i++) {
        drawnParts[i] = parts[used[picked[i]!]!]!;
        drawnWholes[i] = wholes[used[picked[i]!]!]!;
      }
      return logitWithError(drawnParts, drawnWholes);
    },
    settings,
  );
  if (typeof found === 'string') return without(found);
  return { ...head, interval: [logistic(found[0]), logistic(found[1])] };
}

/** Difference of two pooled proportions on the same participants, each with a whole in both; fractions. */
export function differenceBootstrapT(
  first: Ratio,
  second: Ratio,
  settings: BootstrapSettings = defaultBootstrapSettings,
): Estimate {
  const n = first.wholes.length;
  if (n === 0) return notComputable('no participant');
  const statistic = (picked: Int32Array) => differenceWithError(first, second, picked);
  const [value] = statistic(Int32Array.from({ length: n }, (_, i) => i));
  const found = n < 2 ? 'needs two participants' : symmetricT(n, statistic, settings);
  const head = { value, n, level: settings.level };
  return typeof found === 'string' ? { ...head, interval: null, intervalReason: found } : { ...head, interval: found };
}

/** With the standard error by the jackknife: each participant left out of the sums in turn. */
function differenceWithError(first: Ratio, second: Ratio, picked: Int32Array): readonly [number, number] {
  let [a, b, wholeA, wholeB] = [0, 0, 0, 0];
  for (const i of picked) {
    a += first.parts[i]!;
    b += second.parts[i]!;
    wholeA += first.wholes[i]!;
    wholeB += second.wholes[i]!;
  }
  const n = picked.length;
  const value = a / wholeA - b / wholeB;
  let sum = 0;
  let squares = 0;
  for (const i of picked) {
    const left = (a - first.parts[i]!) / (wholeA - first.wholes[i]!);
    const apart = left - (b - second.parts[i]!) / (wholeB - second.wholes[i]!) - value;
    sum += apart;
    squares += apart * apart;
  }
  const spread = squares - (sum * sum) / n;
  // Less is rounding: the pairs all differ by the same.
  return [value, spread < 1e-24 * (1 + value * value) ? Number.NaN : Math.sqrt(((n - 1) / n) * spread)];
}
