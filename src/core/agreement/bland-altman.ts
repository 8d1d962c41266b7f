import { mean, standardDeviation, variance } from '../moments';
import { chiSquareQuantile } from '../score/chi-square';
import { tQuantile } from '../score/distributions';
import { type Interval, notComputable } from '../score/result';
import { allFinite, notANumber } from './finite';

/** Bias and limits of agreement of paired differences (test - reference), each with its interval at `level`. */
export interface LimitsOfAgreement {
  readonly value: number;
  /** Pairs. */
  readonly n: number;
  readonly participants: number;
  readonly level: number;
  readonly biasInterval: Interval;
  /** SD of the differences, all sources together. */
  readonly sd: number;
  /** Standard deviations within and between participants; null where every pair stands for itself. */
  readonly withinSd: number | null;
  readonly betweenSd: number | null;
  readonly lower: number;
  readonly lowerInterval: Interval;
  readonly upper: number;
  readonly upperInterval: Interval;
  /** Variant and source, for the report. */
  readonly method: string;
}

export type BlandAltman = LimitsOfAgreement | { readonly value: null; readonly reason: string };

export interface BlandAltmanSettings {
  readonly level: number;
  /** Limits are bias +- multiplier x SD. 1.96 covers 95 % of normal differences; the 1986 paper rounds it to 2. */
  readonly multiplier: number;
}

const defaults: BlandAltmanSettings = { level: 0.95, multiplier: 1.96 };

/**
 * One pair for each participant: bias and limits (Bland & Altman, Lancet 1986;i:307), Student's t intervals with the
 * variance of a limit s^2 (1/n + multiplier^2 / (2 (n - 1))) (Bland & Altman, Stat Methods Med Res 1999;8:135).
 */
export function blandAltman(differences: ArrayLike<number>, settings = defaults): BlandAltman {
  const n = differences.length;
  if (!allFinite(differences)) return notComputable(notANumber);
  if (n < 3) return notComputable('needs three pairs');
  const { level, multiplier } = settings;
  const value = mean(differences);
  const sd = standardDeviation(differences);
  const t = tQuantile(0.5 + level / 2, n - 1);
  const half = t * sd * Math.sqrt(1 / n + multiplier ** 2 / (2 * (n - 1)));
  const lower = value - multiplier * sd;
  const upper = value + multiplier * sd;
  return {
    value,
    n,
    participants: n,
    level,
    biasInterval: around(value, (t * sd) / Math.sqrt(n)),
    sd,
    withinSd: null,
    betweenSd: null,
    lower,
    lowerInterval: around(lower, half),
    upper,
    upperInterval: around(upper, half),
    method: 'Bland & Altman 1986, intervals of 1999',
  };
}

const around = (centre: number, half: number): Interval => [centre - half, centre + half];

/**
 * Several pairs for each participant, the true value varying: variance components of the differences from a one-way
 * analysis of variance by participant (Bland & Altman, J Biopharm Stat 2007;17:571). Intervals of the limits by MOVER
 * (Zou, Stat Methods Med Res 2013;22:630) on the two mean squares; of the bias by t with participants - 1 df.
 * `groups`: one list of differences for each participant; empty lists are passed over.
 */
export function blandAltmanRepeated(groups: readonly ArrayLike<number>[], settings = defaults): BlandAltman {
  if (!allFinite(...groups)) return notComputable(notANumber);
  const used = groups.filter(g => g.length > 0);
  const k = used.length;
  if (k < 3) return notComputable('needs three participants');
  const n = used.reduce((sum, g) => sum + g.length, 0);
  if (n === k)
    return blandAltman(
      Float64Array.from(used, g => g[0]!),
      settings,
    );
  const parts = components(used, n);
  const { level, multiplier } = settings;
  const sd = Math.sqrt(parts.total);
  const biasHalf = tQuantile(0.5 + level / 2, k - 1) * Math.sqrt(parts.biasVariance);
  const [sdLow, sdHigh] = sdInterval(parts, k, n, level);
  const near = Math.hypot(biasHalf, multiplier * (sd - sdLow));
  const far = Math.hypot(biasHalf, multiplier * (sdHigh - sd));
  const value = parts.mean;
  const lower = value - multiplier * sd;
  const upper = value + multiplier * sd;
  return {
    value,
    n,
    participants: k,
    level,
    biasInterval: around(value, biasHalf),
    sd,
    withinSd: Math.sqrt(parts.within),
    betweenSd: Math.sqrt(parts.between),
    lower,
    lowerInterval: [lower - far, lower + near],
    upper,
    upperInterval: [upper - near, upper + far],
    method: 'Bland & Altman 2007, true value varies, variance components by ANOVA; intervals by MOVER (Zou 2013)',
  };
}

interface Components {
  readonly mean: number;
  readonly within: number;
  readonly between: number;
  readonly total: number;
  readonly biasVariance: number;
  /** The two parts of the total, each a multiple of one mean square. */
  readonly weighted: readonly [between: number, within: number];
}

function components(groups: readonly ArrayLike<number>[], n: number): Components {
  const k = groups.length;
  const means = groups.map(mean);
  const grand = groups.reduce((sum, g, i) => sum + g.length * means[i]!, 0) / n;
  const squaresBetween = groups.reduce((sum, g, i) => sum + g.length * (means[i]! - grand) ** 2, 0);
  const squaresWithin = groups.reduce((sum, g) => sum + (g.length > 1 ? variance(g) * (g.length - 1) : 0), 0);
  const squaredSizes = groups.reduce((sum, g) => sum + g.length ** 2, 0);
  const size = (n * n - squaredSizes) / ((k - 1) * n);
  const msBetween = squaresBetween / (k - 1);
  const within = squaresWithin / (n - k);
  const between = Math.max(0, (msBetween - within) / size);
  return {
    mean: grand,
    within,
    between,
    total: between + within,
    biasVariance: (between * squaredSizes) / (n * n) + within / n,
    weighted: between > 0 ? [msBetween / size, within * (1 - 1 / size)] : [0, within],
  };
}

/** MOVER interval of the total SD from the chi-square intervals of its two parts. */
function sdInterval({ weighted, total }: Components, k: number, n: number, level: number): Interval {
  const reach = (p: number) =>
    Math.hypot(
      weighted[0] * ((k - 1) / chiSquareQuantile(p, k - 1) - 1),
      weighted[1] * ((n - k) / chiSquareQuantile(p, n - k) - 1),
    );
  const low = total - reach(0.5 + level / 2);
  return [Math.sqrt(Math.max(0, low)), Math.sqrt(total + reach(0.5 - level / 2))];
}
