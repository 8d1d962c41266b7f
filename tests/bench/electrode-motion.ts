/**
 * Simulated electrode-motion noise added to a clean ECG after the published noise-stress protocol: the first five
 * minutes stay clean, then two noisy minutes alternate with two clean ones; the level is set by the signal-to-noise
 * ratio 10 log10(S/N) with S the square of the mean QRS peak-to-peak amplitude over 8 and N the noise power, both
 * trimmed by 5 % at each end. Source: Moody, Muldrow & Mark, Computers in Cardiology 1984;11:381 (from memory).
 * The noise itself is our own model: pulses, biphasic waves and steps with recovery, 20 to 160 ms wide, of random size
 * and in bursts, on baseline wander and a little muscle noise.
 */
export function seeded(seed: number): () => number {
  let s = seed >>> 0;
  return () => {
    s = (s + 0x6d2b79f5) >>> 0;
    let t = Math.imul(s ^ (s >>> 15), 1 | s);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

function gaussian(random: () => number): number {
  return Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}

/** One event of electrode motion at time u, in units of its width. */
function eventShape(kind: number, u: number): number {
  if (kind === 0) return Math.exp(-u * u * 0.5);
  if (kind === 1) return -1.6 * u * Math.exp(-u * u * 0.5);
  return u < 0 ? 0 : Math.exp(-u) * Math.min(1, u / 0.3);
}

/** `n` samples of unit variance. */
function electrodeMotion(n: number, samplingRateHz: number, seed: number): Float32Array {
  const random = seeded(seed);
  const out = new Float32Array(n);
  let activity = 1;
  let nextActivity = 0;
  for (let t = 0; t < n / samplingRateHz; t += -Math.log(1 - random()) / 7) {
    if (t >= nextActivity) {
      activity = Math.exp(0.4 * gaussian(random));
      nextActivity += 3;
    }
    const width = 0.02 * 8 ** random();
    const size = gaussian(random) * activity * width ** 0;
    const kind = Math.floor(random() * 3);
    const from = Math.floor(t * samplingRateHz);
    for (let i = from; i < Math.min(n, from + 6 * width * samplingRateHz); i++)
      out[i]! += size * eventShape(kind, (i - from) / samplingRateHz / width - 2);
  }
  scaleToUnit(out);
  const wander = new Float32Array(n);
  for (let i = 1, w = 0; i < n; i++) wander[i] = w = w * (1 - 1.5 / samplingRateHz) + gaussian(random);
  scaleToUnit(wander);
  for (let i = 0; i < n; i++) out[i]! += 0.3 * wander[i]! + 0.1 * gaussian(random);
  scaleToUnit(out);
  return out;
}

function scaleToUnit(x: Float32Array): void {
  let sum = 0;
  for (const v of x) sum += v;
  const mean = sum / x.length;
  let squares = 0;
  for (const v of x) squares += (v - mean) ** 2;
  const scale = 1 / Math.sqrt(squares / x.length);
  for (let i = 0; i < x.length; i++) x[i] = (x[i]! - mean) * scale;
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

/** The words with noise added at a signal-to-noise ratio in dB. */
export function withElectrodeMotion(
  words: Int16Array,
  beats: Int32Array,
  samplingRateHz: number,
  snrDb: number,
  seed: number,
): Int16Array {
  const noise = electrodeMotion(words.length, samplingRateHz, seed);
  const signalPower = qrsPeakToPeak(words, beats, samplingRateHz) ** 2 / 8;
  const gain = Math.sqrt(signalPower / 10 ** (snrDb / 10)) / noiseAmplitude(noise, samplingRateHz);
  const out = Int16Array.from(words);
  for (let i = 300 * samplingRateHz; i < words.length; i++)
    if ((i / samplingRateHz - 300) % 240 < 120) out[i] = Math.round(words[i]! + gain * noise[i]!);
  return out;
}
