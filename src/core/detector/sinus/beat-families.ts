import { Families, type Family } from '../noise/families';
import { type BeatWaves, middleOf } from './beat-waves';

/** One kind of beat of a recording. */
export interface BeatFamily {
  /** Average wave of each lead, as the difference from step to step (see BeatWaves). */
  readonly shape: readonly Float32Array[];
  readonly beats: number;
  /** Length of its QRS complex in ms, as far as it is steep. */
  readonly widthMs: number;
}

export interface FoundFamilies {
  readonly families: readonly BeatFamily[];
  /** Index of each beat's family; -1 at an end of the recording. */
  readonly of: Int32Array;
  readonly halfSteps: number;
}

/** Recordings with artefacts found many families of one beat each; what is kept beyond these would not be seen again. */
const most = 40;
/** The QRS complex is where the average wave is at least this steep, as a share of its steepest place. */
const steep = 0.25;
const smoothMs = 12;

/** Families in time order; learnt from the rows one after the other, so that each follows slow changes. */
export function beatFamilies(waves: BeatWaves): FoundFamilies {
  const learnt = new Families(waves.stepsPerSecond, waves.leads.length, most);
  const numbers = new Map<Family, number>();
  const counts: number[] = [];
  const of = new Int32Array(waves.count).fill(-1);
  for (let k = 0; k < waves.count; k++) {
    if (waves.whole[k] === 0) continue;
    const family = learnt.learn(waves.leads, waves.count * waves.width, middleOf(waves, k), 0);
    if (!family) continue;
    const number = numbers.get(family) ?? numbers.size;
    numbers.set(family, number);
    counts[number] = (counts[number] ?? 0) + 1;
    of[k] = number;
  }
  const families = [...numbers.keys()].map(({ shape }, i) => ({
    shape,
    beats: counts[i]!,
    widthMs: widthMs(shape, waves.stepsPerSecond),
  }));
  return { families, of, halfSteps: learnt.halfSteps };
}

function widthMs(shape: readonly Float32Array[], stepsPerSecond: number): number {
  const arm = Math.max(0, Math.round((smoothMs * stepsPerSecond) / 2000));
  const slope = Float64Array.from(shape[0]!, (_, i) => {
    let sum = 0;
    for (const of of shape)
      for (let j = Math.max(0, i - arm); j <= Math.min(of.length - 1, i + arm); j++) sum += Math.abs(of[j]!);
    return sum;
  });
  const least = steep * slope.reduce((a, b) => Math.max(a, b), 0);
  const first = slope.findIndex(v => v > least);
  const last = slope.findLastIndex(v => v > least);
  return first < 0 ? 0 : ((last - first) * 1000) / stepsPerSecond;
}
