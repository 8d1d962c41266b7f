import type { Candidates } from './candidates';
import type { LeadsWindow } from './leads';
import { mediansAround } from './selection';

/**
 * How much steeper than the beats around it a wave is: pulses and jumps of an electrode have edges that no beat of the
 * person has, and are as high as beats. A ventricular beat may be twice as steep too; it looks like others of its kind.
 */
const reachS = 0.07;
/** Beats on either side that make the usual steepness, and how many of them there have to be. */
const neighbours = 12;
const fewest = 7;

/**
 * Per candidate, its steepest change over that of the beats around it, 1 where that cannot be told. Of candidates that
 * are no beats and have evidence of `least` or less it is not worked out.
 */
export function steepness(
  leads: LeadsWindow,
  workingHz: number,
  { at, count }: Candidates,
  chosen: Uint8Array,
  evidence: Float32Array,
  least: number,
): Float32Array {
  const { fine } = leads.leads[leads.clearest]!;
  const reach = Math.round((reachS * workingHz) / leads.step);
  const out = new Float32Array(count).fill(1);
  const ofBeats = new Float32Array(count);
  let beats = 0;
  for (let i = 0; i < count; i++) {
    if (!chosen[i] && evidence[i]! <= least) continue;
    const middle = Math.round(at[i]! / leads.step);
    out[i] = steepest(fine, Math.max(0, middle - reach), Math.min(leads.fineCount, middle + reach + 1));
    if (chosen[i]) ofBeats[beats++] = out[i]!;
  }
  if (beats < fewest) return out.fill(1);
  const usual = mediansAround(ofBeats.subarray(0, beats), neighbours);
  for (let i = 0, next = 0; i < count; i++) {
    out[i]! /= Math.max(1e-9, usual[Math.min(next, beats - 1)]!);
    if (chosen[i]) next++;
  }
  return out;
}

function steepest(fine: Float32Array, from: number, to: number): number {
  let most = 0;
  for (let k = from; k < to; k++) {
    const v = Math.abs(fine[k]!);
    if (v > most) most = v;
  }
  return most;
}
