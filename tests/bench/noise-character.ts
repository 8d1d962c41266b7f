import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { mean, sortedQuantile } from '../../src/core/moments';
import { randomFrom } from '../../src/core/random';
import { drawSteps, electrodeMotion } from '../../src/core/simulate/electrode-motion';
import { noisePresent, noiseStretches } from './noise-mixture';

/**
 * The character of electrode-motion noise, measured (MIT-BIH Noise Stress Test Database, Moody, Muldrow & Mark 1984) and
 * simulated: power by octave, how heavy its tails are, and the bursts in the bands of the QRS complex and of muscles.
 * Writes noise-character.json beside it, from which tests/bench/README.md is made; the tests hold the simulation to it.
 */
export interface Character {
  /** Mean power of each octave, dB of all of them together. */
  readonly octavesDb: readonly number[];
  /** Kurtosis of the octaves from 4 Hz on; of normal noise it is 3. */
  readonly kurtosis: readonly number[];
  readonly bursts: readonly Bursts[];
}

interface Bursts {
  /** Standard deviation of the log of the amplitude in tenths of a second. */
  readonly spread: number;
  /** Autocorrelation of that half a second and a second later: steps come back. */
  readonly halfSecond: number;
  readonly second: number;
  /** Stretches of more than twice the median amplitude: how many, their length and the gaps between, median and 90 %. */
  readonly perMinute: number;
  readonly lengthS: readonly number[];
  readonly gapS: readonly number[];
}

export const octavesFromHz = [0.25, 0.5, 1, 2, 4, 8, 16, 32, 64];
export const burstBandsHz = [
  [5, 15],
  [15, 40],
] as const;
const heavyFromHz = 4;
const settleS = 6;
const blockS = 0.1;

const measuredCharacter = (): Character => character(noiseStretches(), 360);

export function simulatedCharacter(stretches: number): Character {
  return character(
    Array.from({ length: stretches }, (_, k) =>
      electrodeMotion(120 * 360, 360, drawSteps(120, randomFrom(`steps ${k}`)), randomFrom(`waves ${k}`)),
    ),
    360,
  );
}

/** Of the octaves that `hz` samples a second hold well: up to 0.45 of the rate, as they are simulated. */
export function character(stretches: readonly Float32Array[], hz: number): Character {
  const octaves = octavesFromHz
    .filter(from => 2 * from <= 0.45 * hz)
    .map(from => stretches.map(x => bandPassed(x, from, 2 * from, hz)));
  const powers = octaves.map(of => mean(of.map(power)));
  const all = powers.reduce((a, b) => a + b, 0);
  return {
    octavesDb: powers.map(p => rounded(10 * Math.log10(p / all))),
    kurtosis: octaves.filter((_, k) => octavesFromHz[k]! >= heavyFromHz).map(of => rounded(mean(of.map(kurtosis)))),
    bursts: burstBandsHz.map(([from, to]) =>
      burstsOf(
        stretches.map(x => bandPassed(x, from, to, hz)),
        hz,
      ),
    ),
  };
}

const rounded = (v: number) => Number(v.toFixed(2));

/** Two second-order band-passes one after the other, without their first seconds. Source: Bristow-Johnson's cookbook. */
function bandPassed(x: Float32Array, fromHz: number, toHz: number, hz: number): Float64Array {
  const middle = Math.sqrt(fromHz * toHz);
  const w = (2 * Math.PI * middle) / hz;
  const alpha = Math.sin(w) / ((2 * middle) / (toHz - fromHz));
  let from = Float64Array.from(x);
  for (let pass = 0; pass < 2; pass++) {
    const out = new Float64Array(from.length);
    for (let i = 2; i < out.length; i++)
      out[i] =
        (alpha * (from[i]! - from[i - 2]!) + 2 * Math.cos(w) * out[i - 1]! - (1 - alpha) * out[i - 2]!) / (1 + alpha);
    from = out;
  }
  return from.subarray(settleS * hz);
}

const power = (x: Float64Array) => x.reduce((sum, v) => sum + v * v, 0) / x.length;
const kurtosis = (x: Float64Array) => x.reduce((sum, v) => sum + v ** 4, 0) / x.length / power(x) ** 2;

function burstsOf(stretches: readonly Float64Array[], hz: number): Bursts {
  const spreads: number[] = [];
  const later: [number[], number[]] = [[], []];
  const lengths: number[] = [];
  const gaps: number[] = [];
  let seconds = 0;
  for (const x of stretches) {
    const amplitude = amplitudes(x, Math.round(blockS * hz));
    const logs = amplitude.map(Math.log);
    const middle = mean(logs);
    const off = logs.map(v => v - middle);
    const variance = mean(off.map(v => v * v));
    spreads.push(Math.sqrt(variance));
    for (const [k, lag] of [0.5, 1].entries()) {
      const n = Math.round(lag / blockS);
      later[k]!.push(mean(off.slice(n).map((v, i) => v * off[i]!)) / variance);
    }
    addRuns(amplitude, lengths, gaps);
    seconds += x.length / hz;
  }
  return {
    spread: rounded(mean(spreads)),
    halfSecond: rounded(mean(later[0])),
    second: rounded(mean(later[1])),
    perMinute: rounded((60 * lengths.length) / seconds),
    lengthS: quantiles(lengths),
    gapS: quantiles(gaps),
  };
}

function amplitudes(x: Float64Array, block: number): number[] {
  return Array.from({ length: Math.floor(x.length / block) }, (_, b) =>
    Math.sqrt(power(x.subarray(b * block, (b + 1) * block))),
  );
}

/** Lengths of the runs above twice the median, and of what lies between two of them, s. */
function addRuns(amplitude: readonly number[], lengths: number[], gaps: number[]): void {
  const limit = 2 * sortedQuantile(Float64Array.from(amplitude).sort(), 0.5);
  let end = -1;
  for (let i = 0; i < amplitude.length; i++) {
    if (amplitude[i]! <= limit) continue;
    const start = i;
    while (i < amplitude.length && amplitude[i]! > limit) i++;
    lengths.push((i - start) * blockS);
    if (end >= 0) gaps.push((start - end) * blockS);
    end = i;
  }
}

function quantiles(values: readonly number[]): number[] {
  const sorted = Float64Array.from(values).sort();
  return [0.5, 0.9].map(q => rounded(sortedQuantile(sorted, q)));
}

if (process.argv[1]?.endsWith('noise-character.ts')) {
  if (noisePresent) {
    const both = { measured: measuredCharacter(), simulated: simulatedCharacter(6) };
    console.log(JSON.stringify(both, null, 1));
    writeFileSync(join(import.meta.dirname, 'noise-character.json'), `${JSON.stringify(both, null, 1)}\n`);
  } else console.log('not run: open recordings absent');
}
