import type { LeadsWindow } from '../leads';
import type { WindowBeat } from '../window-beat';
import { Families } from './families';
import { cellSteps } from './readable';
import { type RegionBeats, solveRegion } from './region';
import { intervalBins, type TimedInterval } from './rhythm-density';
import type { ShapeEvidence } from './shape-evidence';
import type { NoiseTuning } from './tuning';

/** Intervals are kept this long for the next windows, s. */
const keepS = 300;

interface Found {
  readonly beats: readonly WindowBeat[];
  readonly others: readonly WindowBeat[];
}

/** Finds the beats in noisy stretches of a window by the shapes and the rhythm of the readable ones. */
export class NoiseSolver {
  private readonly workingHz: number;
  private readonly tuning: NoiseTuning;
  private readonly families: Families;
  private readonly bins: Int16Array;
  /** Room for one window, made when the first noise comes. */
  private room: { residual: Float32Array[]; evidence: ShapeEvidence } | null = null;
  /** Readable intervals of this window and those before, in working samples of this window. */
  private intervals: TimedInterval[] = [];

  constructor(workingHz: number, step: number, leadCount: number, tuning: NoiseTuning) {
    this.tuning = tuning;
    this.workingHz = workingHz;
    this.families = new Families(workingHz / step, leadCount);
    this.bins = intervalBins(step / workingHz);
  }

  /**
   * What was found first in a window, once learnt from, with what lies in noise found anew from `from` on. `standing` gives
   * the log-odds of each beat found first to be one whatever its shape.
   */
  solve(leads: LeadsWindow, first: Found, from: number, standing: () => readonly number[]): Found {
    const { step, fineCount } = leads;
    const readability = readabilityOf(leads);
    if (this.families.known.length === 0) return first;
    let { beats, others } = first;
    let odds: Map<number, number> | null = null;
    for (const [start, end] of noisyStretches(readability, fineCount, Math.ceil(from / step), this.tuning.solve)) {
      odds ??= new Map(standing().map((value, k) => [first.beats[k]!.at, value]));
      const region = this.solveStretch(leads, beats, odds, start, end);
      const outside = (b: WindowBeat) => b.at < start * step || b.at >= end * step;
      beats = [...beats.filter(outside), ...region.beats].sort((a, b) => a.at - b.at);
      others = [...others.filter(outside), ...region.others].sort((a, b) => a.at - b.at);
    }
    return { beats, others };
  }

  private solveStretch(
    leads: LeadsWindow,
    beats: readonly WindowBeat[],
    odds: ReadonlyMap<number, number>,
    from: number,
    to: number,
  ): Found {
    const { step, fineCount } = leads;
    const size = leads.leads[0]!.fine.length;
    this.room ??= {
      residual: leads.leads.map(() => new Float32Array(size)),
      evidence: { odds: new Float32Array(size), family: new Uint8Array(size) },
    };
    const found = solveRegion({
      ...this.room,
      fine: leads.fine,
      count: fineCount,
      families: this.families,
      stepS: step / this.workingHz,
      bins: this.bins,
      from,
      to,
      tuning: this.tuning,
      guess: beats.map(b => Math.round(b.at / step)),
      standing: beats.map(b => odds.get(b.at) ?? Number.NEGATIVE_INFINITY),
      intervals: this.intervals.map(v => ({ at: v.at / step, rr: v.rr })),
    });
    return this.beatsOf(found, step, beats);
  }

  /** Learns the shapes of the beats from working sample `from` on, and their rhythm, where beats can be read. */
  learn(leads: LeadsWindow, beats: readonly Pick<WindowBeat, 'at' | 'apex'>[], from: number): void {
    const readability = readabilityOf(leads);
    const cellOf = (at: number) => Math.min(readability.length - 1, Math.floor(at / leads.step / cellSteps));
    const readable = (at: number) => readability[cellOf(at)]! >= this.tuning.learn;
    const { fine } = leads;
    const keep = -keepS * this.workingHz;
    this.intervals = this.intervals.filter(v => v.at > keep);
    let last: Pick<WindowBeat, 'at'> | null = null;
    for (const beat of beats) {
      const known = readable(beat.at);
      if (beat.at >= from && known) {
        const at = Math.round(beat.at / leads.step);
        this.families.learn(fine, leads.fineCount, at, beat.apex / leads.step - at);
        if (last) this.intervals.push({ at: beat.at, rr: (beat.at - last.at) / this.workingHz });
      }
      last = known ? beat : null;
    }
  }

  /** How like the most similar known family the wave at a working sample is, -1 to 1; null where it cannot be told. */
  similarity(leads: LeadsWindow, at: number): number | null {
    const fit = this.families.bestFit(leads.fine, leads.fineCount, Math.round(at / leads.step));
    return fit && this.families.isKnown(fit.family) ? fit.alike : null;
  }

  /** The window moves on by so many working samples. */
  moveOn(by: number): void {
    this.intervals = this.intervals.map(v => ({ at: v.at - by, rr: v.rr }));
  }

  private beatsOf(
    region: RegionBeats,
    step: number,
    guess: readonly WindowBeat[],
  ): { beats: WindowBeat[]; others: WindowBeat[] } {
    const known = this.families.known;
    const beats: WindowBeat[] = [];
    const others: WindowBeat[] = [];
    for (let i = 0; i < region.at.length; i++) {
      const at = region.at[i]! * step;
      const probability = region.probability[i]!;
      const apex = at + known[region.family[i]!]!.apex * step;
      const first = guess[region.guess[i]!];
      const beat = first ? { ...first, probability } : { at, probability, apex, up: true, lead: 0, inNoise: true };
      if (region.chosen[i]) beats.push(beat);
      else if (probability > 1e-3) others.push(beat);
    }
    return { beats, others };
  }
}

/** Of the lead that shows beats best, for the cells in use. */
function readabilityOf(leads: LeadsWindow): Float32Array {
  return leads.bestReadability().subarray(0, Math.max(1, Math.ceil(leads.fineCount / cellSteps)));
}

/** Stretches of fine steps from `from` on in which beats do not stand out, as [start, end) pairs. */
function noisyStretches(readability: Float32Array, count: number, from: number, least: number): [number, number][] {
  const out: [number, number][] = [];
  for (let g = 0; g < readability.length; g++) {
    if (!(readability[g]! < least)) continue;
    const start = Math.max(from, g * cellSteps);
    const end = Math.min(count, (g + 1) * cellSteps);
    if (end <= start) continue;
    if (out.length > 0 && out.at(-1)![1] >= start) out.at(-1)![1] = end;
    else out.push([start, end]);
  }
  return out;
}
