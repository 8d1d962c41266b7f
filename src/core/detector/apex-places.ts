import { type ApexTuning, deflections, pointsUp } from './apex';
import type { LeadsWindow } from './leads';
import type { WindowBeat } from './window-beat';

export type Place = Pick<WindowBeat, 'at' | 'apex' | 'up' | 'lead'>;

/** A beat's own apex is looked for this far at most from where its family has it. */
const besideFamilyS = 0.03;
/** From this readability on a beat shows its own apex; shapes are learnt from there on too (`noiseTuning.learn`). */
const showsApex = 3;

/** The apex of each beat, by its middle, in the lead that shows it; all in working samples of a window of `n`. */
export function apexPlaces(
  leads: LeadsWindow,
  n: number,
  at: readonly number[],
  workingHz: number,
  tuning: ApexTuning,
): Place[] {
  const used = leads.leads.map(lead => deflections(lead, n, at, workingHz, tuning));
  return at.map((middle, k) => {
    const lead = leads.leadAt(middle);
    const { up, down, lean } = used[lead]!;
    const upwards = pointsUp(lean, k);
    return { at: middle, apex: upwards ? up[k]! : down[k]!, up: upwards, lead };
  });
}

/**
 * Beats found in noise have the apex of their family, a mean: where a lead shows them none the less and their own apex is
 * near that, they are marked on their own.
 */
export function withOwnApex(
  leads: LeadsWindow,
  n: number,
  beats: readonly WindowBeat[],
  workingHz: number,
  tuning: ApexTuning,
): readonly WindowBeat[] {
  if (!beats.some(b => b.inNoise)) return beats;
  const middles = beats.map(b => b.at);
  const own = apexPlaces(leads, n, middles, workingHz, tuning);
  return beats.map((beat, k) => {
    const { apex, up, lead } = own[k]!;
    const seen = beat.inNoise && leads.readabilityAt(beat.at, lead) >= showsApex;
    if (!seen || Math.abs(apex - beat.apex) > besideFamilyS * workingHz) return beat;
    return { ...beat, apex, up, lead, inNoise: false };
  });
}
