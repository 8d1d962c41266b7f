import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { subtract, union } from '../../src/core/marks/spans';
import { mean, sortedQuantile } from '../../src/core/moments';
import { activities, type RecorderName, recorders } from '../../src/samples/activities';
import { type TrainingRecording, trainingDay, volunteers } from '../../src/samples/training-day';
import { type Character, character } from './noise-character';

/**
 * The noise of the sample sessions, all that is in a recorder's first lead but the heart, where the beats can be read: its
 * character in the activities with movement, and its signal-to-noise ratio in each. Writes sample-noise.json beside it,
 * from which tests/bench/README.md is made.
 */
export interface SampleNoise {
  readonly character: Readonly<Record<RecorderName, Character>>;
  readonly ratios: readonly RatioRow[];
}

interface RatioRow {
  readonly activity: string;
  readonly recorder: RecorderName;
  /** Electrode motion alone, as the activity has it all through, dB. */
  readonly motionDb: number;
  /** All noise, dB: median, least and greatest over the volunteers. */
  readonly allDb: readonly number[];
}

/** The first activity is at rest. */
const moving = activities.slice(1);
/** Shorter stretches hold too few steps. */
const leastSeconds = 30;

function sampleNoise(): SampleNoise {
  const all = volunteers.flatMap(v => trainingDay(v).recordings);
  return {
    character: {
      'chest band': movingCharacter(all, 'chest band'),
      'adhesive logger': movingCharacter(all, 'adhesive logger'),
    },
    ratios: activities.flatMap(({ name, motionDb }) =>
      recorders.map(recorder => {
        const ratios = Float64Array.from(of(all, recorder), r => ratioDb(r, name)).sort();
        const allDb = [sortedQuantile(ratios, 0.5), ratios[0]!, ratios.at(-1)!].map(v => Number(v.toFixed(1)));
        return { activity: name, recorder, motionDb: motionDb[recorder], allDb };
      }),
    ),
  };
}

/** Character of one recorder's noise in the activities with movement. */
export function movingCharacter(all: readonly TrainingRecording[], recorder: RecorderName): Character {
  const own = of(all, recorder);
  const stretches = own.flatMap(r => moving.flatMap(a => readable(r, a.name, leastSeconds)));
  return character(stretches.map(unit), own[0]!.session.recording.samplingRateHz);
}

const of = (all: readonly TrainingRecording[], recorder: RecorderName) =>
  all.filter(r => r.session.recording.recorder === recorder);

/** The noise of one activity, mV, in stretches between those that hide the beats. */
function readable({ session, leads, truth }: TrainingRecording, activity: string, seconds: number): Float32Array[] {
  const { recording, segments } = session;
  const segment = segments.find(s => s.name === activity)!;
  const out: Float32Array[] = [];
  for (const { start, end } of subtract([segment], union(truth.unreadable, recording.gaps))) {
    if (end - start < seconds * recording.samplingRateHz) continue;
    const words = leads[0]!.subarray(start, end);
    out.push(Float32Array.from(words, (w, i) => w * recording.leads[0]!.mvPerUnit - truth.ecg.clean[start + i]!));
  }
  return out;
}

const power = (x: Float32Array) => x.reduce((sum, v) => sum + v * v, 0) / x.length;

/** Without its mean, with a power of 1: each activity of each volunteer counts alike. */
function unit(x: Float32Array): Float32Array {
  const middle = mean([...x]);
  const off = x.map(v => v - middle);
  const scale = 1 / Math.sqrt(power(off));
  return off.map(v => v * scale);
}

/** 10 log10(S/N), S the square of the median QRS peak-to-peak amplitude over 8. Source: Moody et al. 1984 (from memory). */
function ratioDb(r: TrainingRecording, activity: string): number {
  const { clean, beats, samplingRateHz } = r.truth.ecg;
  const half = Math.round(0.05 * samplingRateHz);
  const heights = Float64Array.from(beats, at => {
    const part = clean.subarray(Math.max(0, at - half), at + half);
    return Math.max(...part) - Math.min(...part);
  }).sort();
  const noise = Float32Array.from(readable(r, activity, 0).flatMap(x => [...x]));
  const middle = mean([...noise]);
  return 10 * Math.log10(sortedQuantile(heights, 0.5) ** 2 / 8 / power(noise.map(v => v - middle)));
}

if (process.argv[1]?.endsWith('sample-noise.ts')) {
  const found = sampleNoise();
  console.log(JSON.stringify(found, null, 1));
  writeFileSync(join(import.meta.dirname, 'sample-noise.json'), `${JSON.stringify(found, null, 1)}\n`);
}
