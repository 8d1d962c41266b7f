import { bell, exp } from '../elementary';
import type { Random } from '../random';

/**
 * Motion of the electrodes of a walking person, with the character of measured electrode-motion noise: most power below 2 Hz
 * and some in every octave up to 100 Hz; above 4 Hz in bursts of two tenths of a second, one with each step, loudness
 * changing from step to step. `tests/bench/noise-character.ts` measures it beside the noise it is made after.
 */
/** Power from here to twice here, before the skirts of the neighbouring octaves: those of measured noise come out. */
const octaves = [
  { fromHz: 0.25, power: 0.46 },
  { fromHz: 0.5, power: 0.12 },
  { fromHz: 1, power: 0.24 },
  { fromHz: 2, power: 0.0046 },
  { fromHz: 4, power: 0.108 },
  { fromHz: 8, power: 0.046 },
  { fromHz: 16, power: 0.0154 },
  { fromHz: 32, power: 0.0065 },
  { fromHz: 64, power: 0.00046 },
] as const;
/** Octaves from here on come in bursts. */
const burstsFromHz = 4;
/** An octave above this share of the sampling rate cannot be sampled. */
const highestShare = 0.45;
/** Seconds from step to step, and by how much each differs. */
const stepSeconds = 1;
const stepJitter = 0.05;
/** Half width of a burst, the spread of its loudness (log), and how loud it is between bursts and at the top of one. */
const burstSeconds = 0.065;
const loudSpread = 0.25;
const between = 0.75;
const burstTimes = 2;
/** Loudness follows that of the steps before. */
const loudKeep = 0.75;

/**
 * `n` samples with a root mean square of 1. Leads of one recorder are given the same `steps`: their bursts come together,
 * the waves in them differ.
 */
export function electrodeMotion(
  n: number,
  samplingRateHz: number,
  steps: readonly Footstep[],
  random: Random,
): Float32Array {
  const out = new Float32Array(n);
  const loudness = burstEnvelope(n, samplingRateHz, steps);
  for (const { fromHz, power } of octaves) {
    if (2 * fromHz > highestShare * samplingRateHz) continue;
    const octave = octaveNoise(n, fromHz, samplingRateHz, random);
    if (fromHz >= burstsFromHz) for (let i = 0; i < n; i++) octave[i]! *= loudness[i]!;
    addWithPower(octave, power, out);
  }
  const unit = new Float32Array(n);
  addWithPower(out, 1, unit);
  return unit;
}

export interface Footstep {
  /** Seconds since the start. */
  readonly at: number;
  /** Times the usual loudness. */
  readonly loud: number;
}

/** Steps of a person who walks for so many seconds. */
export function drawSteps(seconds: number, random: Random): Footstep[] {
  const out: Footstep[] = [];
  let log = random.normal();
  for (let at = random.between(0, stepSeconds); at < seconds; at += stepSeconds * (1 + stepJitter * random.normal())) {
    log = loudKeep * log + Math.sqrt(1 - loudKeep * loudKeep) * random.normal();
    out.push({ at, loud: exp(loudSpread * log) });
  }
  return out;
}

function burstEnvelope(n: number, rateHz: number, steps: readonly Footstep[]): Float32Array {
  const out = new Float32Array(n).fill(between);
  const width = burstSeconds * rateHz;
  for (const { at, loud } of steps) {
    const middle = at * rateHz;
    for (let i = Math.max(0, Math.ceil(middle - 4 * width)); i < Math.min(n, middle + 4 * width); i++)
      out[i]! += burstTimes * loud * bell((i - middle) / width);
  }
  return out;
}

/** White noise through a band-pass of one octave: two low-passes of two poles each, one less the other. */
function octaveNoise(n: number, fromHz: number, rateHz: number, random: Random): Float32Array {
  const out = new Float32Array(n);
  const [wide, narrow] = [exp((-4 * Math.PI * fromHz) / rateHz), exp((-2 * Math.PI * fromHz) / rateHz)];
  let [a, b, c, d] = [0, 0, 0, 0];
  for (let i = 0; i < n; i++) {
    const white = random.normal();
    a = wide * a + (1 - wide) * white;
    b = wide * b + (1 - wide) * a;
    c = narrow * c + (1 - narrow) * white;
    d = narrow * d + (1 - narrow) * c;
    out[i] = b - d;
  }
  return out;
}

/** Adds `x`, scaled to a mean square of `power`; nothing where x is nothing. */
function addWithPower(x: Float32Array, power: number, out: Float32Array): void {
  let squares = 0;
  for (const v of x) squares += v * v;
  if (squares === 0) return;
  const scale = Math.sqrt((power * x.length) / squares);
  for (let i = 0; i < x.length; i++) out[i]! += scale * x[i]!;
}
