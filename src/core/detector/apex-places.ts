import { type ApexTuning, type Deflections, deflections, pointsUp } from './apex';
import type { LeadsWindow } from './leads';
import type { WindowBeat } from './window-beat';

export type Place = Pick<WindowBeat, 'at' | 'apex' | 'up' | 'lead'>;

/** A beat's own apex is looked for this far at most from where its family has it. */
const besideFamilyS = 0.03;
/** From this readability on a beat shows its own apex; shapes are learnt from there on too (`noiseTuning.learn`). */
const showsApex = 3;

/** Finds the apexes of beats in one window of `n` working samples; what was found of a beat once is not looked for again. */
export class ApexPlaces {
  private readonly leads: LeadsWindow;
  private readonly n: number;
  private readonly workingHz: number;
  private readonly tuning: ApexTuning;
  private known: Deflections[] | null = null;

  constructor(leads: LeadsWindow, n: number, workingHz: number, tuning: ApexTuning) {
    this.leads = leads;
    this.n = n;
    this.workingHz = workingHz;
    this.tuning = tuning;
  }

  /** The apex of each beat, by its middle, in the lead that shows it; all in working samples. */
  of(at: readonly number[]): Place[] {
    const { leads, n, workingHz, tuning } = this;
    const used = leads.leads.map((lead, k) => deflections(lead, n, at, workingHz, tuning, this.known?.[k]));
    this.known = used;
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
  own(beats: readonly WindowBeat[]): readonly WindowBeat[] {
    if (!beats.some(b => b.inNoise)) return beats;
    const own = this.of(beats.map(b => b.at));
    return beats.map((beat, k) => {
      const { apex, up, lead } = own[k]!;
      const seen = beat.inNoise && this.leads.readabilityAt(beat.at, lead) >= showsApex;
      if (!seen || Math.abs(apex - beat.apex) > besideFamilyS * this.workingHz) return beat;
      return { ...beat, apex, up, lead, inNoise: false };
    });
  }
}
