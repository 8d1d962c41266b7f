/**
 * Logistic regression with a random intercept: in each recording the log-odds of a group of places are shifted by an
 * amount that is normal over recordings (Breslow & Clayton, J Am Stat Assoc 1993;88:9).
 */
export interface Effect {
  /** By how much the log-odds lie above those of recordings on average, as far as is known. */
  readonly shift: number;
  /** Standard deviation of what is not known of it. */
  readonly spread: number;
}

/** A chance over all recordings as log-odds in one that is like the average (inverse of `overEffect` without a shift). */
export function conditional(chance: number, spread: number): number {
  const p = Math.min(1 - tiny, Math.max(tiny, chance));
  return Math.log(p / (1 - p)) * attenuation(spread);
}

const tiny = 1e-9;

/** The mean chance over what is not known of the effect (Zeger, Liang & Albert, Biometrics 1988;44:1049). */
export function overEffect(logOdds: number, { shift, spread }: Effect): number {
  return logistic((logOdds + shift) / attenuation(spread));
}

/** How much smaller log-odds are over all recordings than within one: sqrt(1 + c² spread²), c = 16 √3 / (15 π). */
function attenuation(spread: number): number {
  return Math.hypot(1, ((16 * Math.sqrt(3)) / (15 * Math.PI)) * spread);
}

/**
 * The most likely shift, given how many of the places with these log-odds were mistakes, and what is left unknown
 * (Laplace's approximation). `spread`: of the effect before anything was known.
 */
export function estimateEffect(logOdds: readonly number[], mistakes: number, spread: number): Effect {
  const prior = 1 / spread ** 2;
  let shift = 0;
  for (let round = 0; ; round++) {
    let expected = 0;
    let information = prior;
    for (const l of logOdds) {
      const p = logistic(l + shift);
      expected += p;
      information += p * (1 - p);
    }
    const step = (mistakes - expected - prior * shift) / information;
    if (round === mostRounds || Math.abs(step) < 1e-6)
      return { shift, spread: Math.min(spread, Math.hypot(1 / Math.sqrt(information), drift)) };
    shift += Math.max(-1, Math.min(1, step));
  }
}

const mostRounds = 50;
/** A recording is not the same throughout: so much of the effect stays unknown (tests/bench/calibration). */
const drift = 0.8;

function logistic(z: number): number {
  return 1 / (1 + Math.exp(-z));
}
