import type { WindowBeats } from './window';

/** Waves that are no beats yet have this share of a beat's energy could be beats as well. */
const rivalShare = 0.5;
/** An envelope this many times the beats' is an artefact under which a beat cannot be told. */
const artefactTimes = 6;

/**
 * Stretches of the window in which the detector does not trust its choice, as [start, end) pairs: cells in which
 * rival waves are at least two and as many as the beats, or in which an artefact towers over the beats.
 */
export function noisyStretches(found: WindowBeats, cell: number): number[] {
  const { candidates, chosen, level } = found;
  const rivals = new Uint16Array(level.length);
  const beats = new Uint16Array(level.length);
  const towering = new Uint8Array(level.length);
  for (let i = 0; i < candidates.count; i++) {
    const g = Math.floor(candidates.at[i]! / cell);
    if (chosen[i]) beats[g]!++;
    else if (candidates.energy[i]! > rivalShare * level[g]!) rivals[g]!++;
    if (candidates.energy[i]! > artefactTimes * level[g]!) towering[g] = 1;
  }
  const out: number[] = [];
  for (let g = 0; g < level.length; g++) {
    if (!towering[g] && (rivals[g]! < 2 || rivals[g]! < beats[g]!)) continue;
    if (out.length > 0 && out.at(-1) === g * cell) out[out.length - 1] = (g + 1) * cell;
    else out.push(g * cell, (g + 1) * cell);
  }
  return out;
}
