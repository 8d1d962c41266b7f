import { quantiles } from '../moments';
import { type BootstrapSettings, copyDraw, defaultBootstrapSettings, once, resamples, type Times } from './bootstrap';
import { logistic, logitWithError } from './cluster-ratio';
import type { Ratio } from './effective-size';
import { type Estimate, type Interval, notComputable } from './result';

/** Variant and sources, for the report. Hall's paper is cited from memory. */
export const bootstrapTMethod =
  'cluster bootstrap by participant, symmetric bootstrap-t (Hall, J R Stat Soc B 1988;50:35; Efron & Tibshirani 1993, ch. 12.5), standard errors by the jackknife over participants (by linearization in draws in which one participant has every mistake), a pooled proportion on the logit scale';

/** A statistic of participants and its standard error; NaN where it has none. */
export type Studentized = (times: Times) => readonly [value: number, error: number];

/**
 * Value -+ error x the quantile of |t| over the draws, t being a draw's distance from the value in its own standard
 * errors. Draws without an error are left out. In simulated studies it holds the truth where the other bootstrap
 * intervals are too short (tests/reference/bootstrap).
 */
function symmetricT(participants: number, statistic: Studentized, settings: BootstrapSettings): Interval | string {
  const [value, error] = statistic(once(participants));
  if (!(error > 0 && Number.isFinite(value))) return 'its standard error is not known';
  const { times: all, repeats } = resamples(participants, settings);
  const times = new Int32Array(participants);
  const distances = new Float64Array(settings.draws);
  let n = 0;
  for (let draw = 0; draw < repeats.length; draw++) {
    copyDraw(all, draw, times);
    const [drawn, own] = statistic(times);
    const t = Math.abs(drawn - value) / own;
    if (Number.isFinite(t)) for (let left = repeats[draw]!; left > 0; left--) distances[n++] = t;
  }
  if (n < settings.draws / 2) return 'most resamples have no standard error';
  const half = error * quantiles(distances.subarray(0, n), [settings.level])[0]!;
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
  const usedParts = Float64Array.from(used, i => parts[i]!);
  const usedWholes = Float64Array.from(used, i => wholes[i]!);
  const found = symmetricT(used.length, times => logitWithError(usedParts, usedWholes, times), settings);
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
  const statistic = (times: Times) => differenceWithError(first, second, times);
  const [value] = statistic(once(n));
  const found = n < 2 ? 'needs two participants' : symmetricT(n, statistic, settings);
  const head = { value, n, level: settings.level };
  return typeof found === 'string' ? { ...head, interval: null, intervalReason: found } : { ...head, interval: found };
}

/** With the standard error by the jackknife: each participant left out of the sums in turn. */
function differenceWithError(first: Ratio, second: Ratio, times: Times): readonly [number, number] {
  let [a, b, wholeA, wholeB, n] = [0, 0, 0, 0, 0];
  for (let i = 0; i < times.length; i++) {
    n += times[i]!;
    a += times[i]! * first.parts[i]!;
    b += times[i]! * second.parts[i]!;
    wholeA += times[i]! * first.wholes[i]!;
    wholeB += times[i]! * second.wholes[i]!;
  }
  const value = a / wholeA - b / wholeB;
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < times.length; i++) {
    if (times[i] === 0) continue;
    const left = (a - first.parts[i]!) / (wholeA - first.wholes[i]!);
    const apart = left - (b - second.parts[i]!) / (wholeB - second.wholes[i]!) - value;
    sum += times[i]! * apart;
    squares += times[i]! * apart * apart;
  }
  const spread = squares - (sum * sum) / n;
  // Less is rounding: the pairs all differ by the same.
  return [value, spread < 1e-24 * (1 + value * value) ? Number.NaN : Math.sqrt(((n - 1) / n) * spread)];
}
