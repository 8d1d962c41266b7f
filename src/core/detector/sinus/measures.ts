import type { Marks } from '../../marks/markset';
import { beatFamilies } from './beat-families';
import { type BeatWaves, beatWaves, type LeadSignal } from './beat-waves';
import { medianAt } from './local-median';
import { type PWaves, pWaves } from './p-wave';
import { type SinusShape, sinusShape } from './sinus-shape';
import { type Timing, timing } from './timing';

/** What each reviewed beat is judged by. */
export interface BeatMeasures {
  readonly shape: SinusShape;
  readonly p: PWaves;
  readonly time: Timing;
  /** Index of each beat's family, -1 at an end of the recording; and how many beats it has. */
  readonly family: Int32Array;
  readonly familySize: Int32Array;
  /** 1 for beats of a family that has the usual P wave at the usual time, whatever it looks like: conducted from the sinus. */
  readonly conducted: Uint8Array;
  /** Level rows, see levelWaves. */
  readonly waves: BeatWaves;
}

/** A beat belongs to the usual P waves where it and its neighbours come this much on time, in a steady rhythm. */
const onTime = { before: 0.12, after: 0.2, irregular: 0.06 };
const familyOnTime = 0.12;
/** Share of the usual P wave from which there is one. */
export const someP = 0.5;
const clearEnough = 3;

export function beatMeasures(leads: readonly LeadSignal[], marks: Marks): BeatMeasures {
  const waves = beatWaves(leads, marks);
  const found = beatFamilies(waves);
  const shape = sinusShape(waves, found);
  const first = timing(marks, shape.sinusLike);
  const p = pWaves(
    waves,
    shape,
    shape.sinusBeats.filter(k => isOnTime(first, k)),
  );
  // Intervals to beats without a P wave, where there are such waves, are none of the sinus rhythm.
  const withP = shape.sinusLike.map((v, k) => (v && (p.clear[k]! < clearEnough || p.size[k]! > someP) ? 1 : 0));
  const familySize = found.of.map(f => (f < 0 ? 0 : found.families[f]!.beats));
  const conducted = conductedFamilies(found.of, found.families.length, p, first);
  return { shape, p, time: timing(marks, withP), family: found.of, familySize, conducted, waves };
}

function isOnTime({ before, after, irregular }: Timing, k: number): boolean {
  return (
    Math.abs(before[k]! - 1) < onTime.before &&
    Math.abs(after[k]! - 1) < onTime.after &&
    irregular[k]! < onTime.irregular
  );
}

function conductedFamilies(of: Int32Array, families: number, p: PWaves, time: Timing): Uint8Array {
  const members: number[][] = Array.from({ length: families }, () => []);
  for (let k = 0; k < of.length; k++) if (of[k]! >= 0) members[of[k]!]!.push(k);
  const flags = members.map(beats => {
    const clear = beats.filter(k => p.clear[k]! > clearEnough);
    if (2 * clear.length <= beats.length) return 0;
    const middle = (values: Float32Array) => {
      const list = Float32Array.from(beats, k => values[k]!);
      return medianAt(list, list.length >> 1, list.length);
    };
    return middle(p.size) > someP && Math.abs(middle(time.before) - 1) < familyOnTime ? 1 : 0;
  });
  return Uint8Array.from(of, (f, k) => (f >= 0 && flags[f] && p.clear[k]! > clearEnough ? 1 : 0));
}
