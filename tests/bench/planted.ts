import { seeded } from './electrode-motion';

export type Kind = 'missed' | 'T wave' | 'extra' | 'shifted';
export const kinds: readonly Kind[] = ['missed', 'T wave', 'extra', 'shifted'];

export interface Planted {
  readonly kind: Kind;
  /** The beats around the mistake: an item anywhere from one to the other leads the eye to it. */
  readonly from: number;
  readonly to: number;
}

/** Expert beats with mistakes of each kind at `rate`, never nearer than five beats to each other. */
export function plantMistakes(beats: Int32Array, samplingRateHz: number, rate: number, seed: number) {
  const random = seeded(seed);
  const taken = new Uint8Array(beats.length);
  const marks = new Set<number>(beats);
  const planted: Planted[] = [];
  for (const kind of kinds) {
    for (let wanted = Math.round(rate * beats.length), tries = 0; wanted > 0 && tries < 20_000; tries++) {
      const k = 6 + Math.floor(random() * (beats.length - 12));
      if (taken.subarray(k - 5, k + 6).some(v => v === 1)) continue;
      if (!plantOne(kind, beats, k, samplingRateHz, marks, random)) continue;
      taken[k] = 1;
      planted.push({ kind, from: beats[k - 1]!, to: beats[k + 1]! });
      wanted--;
    }
  }
  return { marks: Int32Array.from(marks).sort(), planted };
}

function plantOne(
  kind: Kind,
  beats: Int32Array,
  k: number,
  hz: number,
  marks: Set<number>,
  random: () => number,
): boolean {
  const at = beats[k]!;
  const rr = beats[k + 1]! - at;
  if (rr < 0.45 * hz) return false;
  if (kind === 'extra') {
    marks.add(at + Math.round(rr * (0.35 + 0.3 * random())));
    return true;
  }
  marks.delete(at);
  if (kind === 'T wave') marks.add(at + Math.round(Math.min(0.6 * rr, (0.24 + 0.1 * random()) * hz)));
  if (kind === 'shifted') marks.add(at + Math.round((random() < 0.5 ? -1 : 1) * (0.06 + 0.05 * random()) * hz));
  return true;
}
