import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { noiseAmplitude, qrsPeakToPeak } from './electrode-motion';
import { type OpenRecording, openFolder, openLead } from './open-recordings';

/**
 * Real electrode-motion noise mixed into open recordings: from the fifth minute on, two noisy minutes alternate with two
 * clean ones; the level is set per lead by the signal-to-noise ratio 10 log10(S/N), S the square of the mean QRS
 * peak-to-peak amplitude over 8, N the noise power, both trimmed by 5 % at each end. Source: Moody, Muldrow & Mark,
 * Computers in Cardiology 1984;11:381 (from memory).
 */
export const ratiosDb = [24, 18, 12, 6, 0, -6] as const;

export interface Mixture {
  readonly name: string;
  readonly beats: Int32Array;
  readonly samplingRateHz: number;
  /** One array of words for each lead. */
  readonly leads: readonly Int16Array[];
  /** [start, end) pairs with noise, samples. */
  readonly noisy: readonly (readonly [number, number])[];
}

export const noisePresent = existsSync(join(openFolder, 'electrode-motion.json'));

let stretches: Float32Array[] | undefined;

/** The stretches of the noise record, arbitrary units; the samples of two stretches do not follow each other. */
export function noiseStretches(): Float32Array[] {
  if (stretches) return stretches;
  const about = JSON.parse(readFileSync(join(openFolder, 'electrode-motion.json'), 'utf8')) as { parts: number[] };
  const bytes = gunzipSync(readFileSync(join(openFolder, 'electrode-motion.i16.gz')));
  const words = Float32Array.from(
    new Int16Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length)),
  );
  let at = 0;
  stretches = about.parts.map(n => words.subarray(at, (at += n)));
  return stretches;
}

/** Stretches of the noise in each half, by number: constants are chosen on one half and figures come from the other. */
export const noiseHalves = [
  [0, 1, 2],
  [3, 4, 5],
] as const;

/**
 * A recording with noise on its first `leadCount` leads. Lead 2 takes the stretch after that of lead 1, backwards in
 * time, so that the leads' noises are unrelated; `shared` is the part (0 to 1) of its amplitude that it has in common with
 * lead 1, with the sign turned, as where two leads share the electrode that moves.
 */
export function mixture(
  recording: OpenRecording,
  snrDb: number,
  half: readonly number[],
  leadCount: 1 | 2,
  shared = 0,
): Mixture {
  const { name, beats, samplingRateHz } = recording;
  const noise = noiseStretches();
  const scale = noiseAmplitude(Float32Array.from(half.flatMap(k => [...noise[k]!])), samplingRateHz);
  const clean = [recording.words, ...(leadCount === 2 ? [openLead(`${name}-lead2`)] : [])];
  const leads = clean.map(words => Int16Array.from(words));
  const gains = clean.map(words => {
    const signalPower = qrsPeakToPeak(words, beats, samplingRateHz) ** 2 / 8;
    return Math.sqrt(signalPower / 10 ** (snrDb / 10)) / scale;
  });
  const noisy: [number, number][] = [];
  for (let k = 0, start = 300 * samplingRateHz; start < clean[0]!.length; k++, start += 240 * samplingRateHz) {
    const first = noise[half[k % half.length]!]!;
    const second = noise[half[(k + 1) % half.length]!]!;
    const n = Math.min(first.length, second.length, clean[0]!.length - start);
    noisy.push([start, start + n]);
    for (let i = 0; i < n; i++) {
      leads[0]![start + i] = rounded(clean[0]![start + i]! + gains[0]! * first[i]!);
      if (leadCount === 1) continue;
      const own = Math.sqrt(1 - shared * shared) * second[n - 1 - i]! - shared * first[i]!;
      leads[1]![start + i] = rounded(clean[1]![start + i]! + gains[1]! * own);
    }
  }
  return { name, beats, samplingRateHz, leads, noisy };
}

const rounded = (value: number) => Math.max(-32768, Math.min(32767, Math.round(value)));
