import { randomFrom } from '../../src/core/random';
import { drawSteps, electrodeMotion } from '../../src/core/simulate/electrode-motion';

/** Mulberry32: small seeded generator, public domain (Ettinger). */
export function seeded(seed: number): () => number {
  let s = seed >>> 0;
  return () => {
    s = (s + 0x6d2b79f5) >>> 0;
    let t = Math.imul(s ^ (s >>> 15), 1 | s);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

function trimmedMean(values: number[]): number {
  values.sort((a, b) => a - b);
  const k = Math.floor(values.length / 20);
  const kept = values.slice(k, values.length - k);
  return kept.reduce((a, b) => a + b, 0) / kept.length;
}

/** Mean over the first 300 beats, words. */
export function qrsPeakToPeak(words: Int16Array, beats: Int32Array, samplingRateHz: number): number {
  const half = Math.round(0.05 * samplingRateHz);
  return trimmedMean(
    Array.from(beats.subarray(0, 300), at => {
      const part = words.subarray(Math.max(0, at - half), at + half);
      return Math.max(...part) - Math.min(...part);
    }),
  );
}

/** Root mean square over the first 300 seconds, mean of the seconds. */
export function noiseAmplitude(noise: Float32Array, samplingRateHz: number): number {
  const rms: number[] = [];
  for (let s = 0; s < 300 && (s + 1) * samplingRateHz <= noise.length; s++) {
    const part = noise.slice(s * samplingRateHz, (s + 1) * samplingRateHz);
    const mean = part.reduce((a, b) => a + b, 0) / part.length;
    rms.push(Math.sqrt(part.reduce((a, b) => a + (b - mean) ** 2, 0) / part.length));
  }
  return trimmedMean(rms);
}

/**
 * Simulated electrode-motion noise added to a clean ECG after the published noise-stress protocol: the first five
 * minutes stay clean, then two noisy minutes alternate with two clean ones; the level is set by the signal-to-noise
 * ratio 10 log10(S/N) with S the square of the mean QRS peak-to-peak amplitude over 8 and N the noise power, both
 * trimmed by 5 % at each end. Source: Moody, Muldrow & Mark, Computers in Cardiology 1984;11:381 (from memory).
 * The noise itself has the character of measured noise (`noise-character.ts`).
 */
export function withElectrodeMotion(
  words: Int16Array,
  beats: Int32Array,
  samplingRateHz: number,
  snrDb: number,
  seed: number,
): Int16Array {
  const steps = drawSteps(words.length / samplingRateHz, randomFrom(`steps ${seed}`));
  const noise = electrodeMotion(words.length, samplingRateHz, steps, randomFrom(`waves ${seed}`));
  const signalPower = qrsPeakToPeak(words, beats, samplingRateHz) ** 2 / 8;
  const gain = Math.sqrt(signalPower / 10 ** (snrDb / 10)) / noiseAmplitude(noise, samplingRateHz);
  const out = Int16Array.from(words);
  for (let i = 300 * samplingRateHz; i < words.length; i++)
    if ((i / samplingRateHz - 300) % 240 < 120) out[i] = Math.round(words[i]! + gain * noise[i]!);
  return out;
}
