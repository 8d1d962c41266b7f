import { type EnvelopeWidths, envelopeWidths, fillEnvelope } from './envelope';
import { jumpsOf } from './jumps';
import { firstLevel, topSamples, topsOf } from './local';
import { fillFine, fineStep, powerSteps } from './noise/fine';
import { cellSteps, fillReadability, noSignal } from './noise/readable';

/** No signal this near: the edge of a gap or flat line would look like a beat. */
const edgeS = 0.1;

/** One lead of a window, in working samples: the signal itself and what is made of it. */
export interface LeadWindow {
  readonly x: Float32Array;
  readonly band: Float32Array;
  readonly energy: Float32Array;
  readonly fine: Float32Array;
  /** How far beats stand out, per cell of `cellSteps` fine steps; 0 where there is no signal. */
  readonly readability: Float32Array;
}

/** The leads of a window, and their common evidence of beats: one lead stands for itself. */
export class LeadsWindow {
  readonly leads: readonly LeadWindow[];
  /** The signal of each lead as shapes are compared in. */
  readonly fine: readonly Float32Array[];
  readonly step: number;
  /** QRS energy of all leads together. */
  energy: Float32Array;
  /** Fine steps in use. */
  fineCount = 0;
  private readonly workingHz: number;
  private readonly widths: EnvelopeWidths;
  private readonly smooth: Float32Array;
  /** Per lead and stretch of 1.5 s: its highest wave as a share of its usual beats, at most 1; 0 near a jump. */
  private shows: Float32Array[] = [];
  private readonly power: Float32Array;

  constructor(workingHz: number, capacity: number, leadCount: number) {
    this.workingHz = workingHz;
    this.widths = envelopeWidths(workingHz);
    this.smooth = new Float32Array(capacity);
    this.step = fineStep(workingHz);
    const fineCapacity = Math.ceil(capacity / this.step);
    this.power = new Float32Array(Math.ceil(fineCapacity / powerSteps));
    this.leads = Array.from({ length: leadCount }, () => ({
      x: new Float32Array(capacity),
      band: new Float32Array(capacity),
      energy: new Float32Array(capacity),
      fine: new Float32Array(fineCapacity),
      readability: new Float32Array(Math.ceil(fineCapacity / cellSteps)),
    }));
    this.fine = this.leads.map(lead => lead.fine);
    this.energy = leadCount === 1 ? this.leads[0]!.energy : new Float32Array(capacity);
  }

  /** Works out everything from the leads' `x[0..n)`; `unseen` has [start, end) pairs without signal per lead. */
  fill(n: number, unseen: readonly Int32Array[], cell: number): void {
    for (const [k, lead] of this.leads.entries()) {
      fillEnvelope(lead.x, n, this.widths, this.smooth, lead.band, lead.energy);
      this.fineCount = fillFine(lead.x, n, this.step, lead.fine, this.power);
      this.silence(lead, n, unseen[k]!);
      fillReadability(this.power, Math.floor(this.fineCount / powerSteps), lead.readability);
    }
    if (this.leads.length > 1) this.combine(n, cell);
  }

  /** Readability per cell of the lead that shows the beats best there. */
  bestReadability(): Float32Array {
    const out = Float32Array.from(this.leads[0]!.readability);
    for (const lead of this.leads.slice(1))
      for (let g = 0; g < out.length; g++) out[g] = Math.max(out[g]!, lead.readability[g]!);
    return out;
  }

  /** Number of the lead that shows the beats best over the whole window. */
  get clearest(): number {
    let best = 0;
    let most = -1;
    for (const [k, { readability }] of this.leads.entries()) {
      let sum = 0;
      for (const v of readability) sum += Math.min(v, clear);
      if (sum > most) [best, most] = [k, sum];
    }
    return best;
  }

  /** The first lead, unless another one shows beats at a working sample while it does not. */
  leadAt(at: number): number {
    const g = this.cellOf(at);
    const first = this.leads[0]!.readability[g]!;
    if (first >= clear) return 0;
    let best = 0;
    for (const [k, lead] of this.leads.entries())
      if (lead.readability[g]! > 1.5 * this.leads[best]!.readability[g]!) best = k;
    return best;
  }

  /** How far beats stand out in a lead around a working sample. */
  readabilityAt(at: number, lead: number): number {
    return this.leads[lead]!.readability[this.cellOf(at)]!;
  }

  /** How far a lead can be held to show a beat at a working sample, 0 to 1: not at all where its line jumps. */
  showing(lead: number, at: number): number {
    const shows = this.shows[lead]!;
    return between(shows, at / topSamples(this.workingHz) - 0.5, shows.length - 1);
  }

  private cellOf(at: number): number {
    return Math.min(this.leads[0]!.readability.length - 1, Math.floor(at / this.step / cellSteps));
  }

  /** No energy where a lead has no signal, nor at the edges of that. */
  private silence(lead: LeadWindow, n: number, unseen: Int32Array): void {
    const edge = Math.round(edgeS * this.workingHz);
    for (let k = 0; k < unseen.length; k += 2) {
      const from = Math.max(0, unseen[k]! - edge);
      const to = Math.min(n, unseen[k + 1]! + edge);
      lead.energy.fill(0, from, to);
      const [start, end] = [Math.floor(from / this.step), Math.ceil(to / this.step)];
      lead.fine.fill(0, start, end);
      this.power.fill(noSignal, Math.floor(start / powerSteps), Math.ceil(end / powerSteps));
    }
  }

  /**
   * Sum of the leads' energies, each over its usual height of beats in this window and times its share of all weights there:
   * a lead that shows nothing for a few seconds, as when its amplifier is blocked, leaves these to the others.
   */
  private combine(n: number, cell: number): void {
    this.energy.fill(0, 0, n);
    const { workingHz } = this;
    const levels = new Float32Array(Math.max(1, Math.ceil(n / cell)));
    const usual: number[] = [];
    this.shows = [];
    const weights = this.leads.map(lead => {
      const tops = topsOf(lead.energy, n, workingHz);
      firstLevel(tops, workingHz, cell, levels);
      usual.push(levels.slice().sort()[levels.length >> 1]!);
      const jumps = withNear(jumpsOf(lead.x, n, workingHz, topSamples(workingHz)));
      this.shows.push(showsOf(tops, usual.at(-1)!, jumps));
      return this.weightsOf(lead, tops, usual.at(-1)!, jumps);
    });
    for (const [k, lead] of this.leads.entries()) {
      if (!(usual[k]! > 0)) continue;
      const share = weights[k]!.map((w, s) => {
        const all = weights.reduce((sum, other) => sum + other[s]!, 0);
        return (all > 0 ? w / all : 1 / this.leads.length) / usual[k]!;
      });
      addWeighted(lead.energy, n, share, topSamples(workingHz), this.energy);
    }
  }

  /**
   * Per stretch of `tops`, the square of the lead's readability there; where the highest wave is lower or higher than beats
   * usually are, times the ratio of the lower to the higher; less where its line jumps.
   */
  private weightsOf({ readability }: LeadWindow, tops: Float32Array, usual: number, jumps: Jumps): Float32Array {
    if (!(usual > 0)) return new Float32Array(tops.length);
    const last = Math.max(0, Math.ceil(this.fineCount / cellSteps) - 1);
    const perCell = topSamples(this.workingHz) / (this.step * cellSteps);
    return tops.map((top, s) => {
      const readable = between(readability, (s + 0.5) * perCell - 0.5, last);
      const shown = jumps.near[s]! > high ? Math.min(readable, mostAmongJumps) : readable;
      const calm = jumps.here[s]! > high ? Math.max(leastCalm, (high / jumps.here[s]!) ** jumpPower) : 1;
      return shown ** 2 * calm * Math.max(least, Math.min(top / usual, usual / top));
    });
  }
}

/** Per stretch the largest jump of the line in it, and near it. */
interface Jumps {
  readonly here: Float32Array;
  readonly near: Float32Array;
}

const withNear = (here: Float32Array): Jumps => ({
  here,
  near: here.map((_, s) => Math.max(...here.subarray(Math.max(0, s - jumpsBefore), s + jumpsAfter + 1))),
});

/** Per stretch, how far a lead can be held to show a beat. */
function showsOf(tops: Float32Array, usual: number, { near }: Jumps): Float32Array {
  return tops.map((top, s) => (usual > 0 && !(near[s]! > high) ? Math.min(1, top / usual) : 0));
}

/**
 * A jump of the line is high from this share of its usual range on. A lead then weighs less by this power of it, down to the
 * least; and as jumps stand out from the line as beats do, and hide them, it is not taken for more readable than so much
 * for so many stretches before and after.
 */
const high = 0.7;
const jumpPower = 4;
const leastCalm = 0.01;
const mostAmongJumps = 8;
const jumpsBefore = 2;
const jumpsAfter = 1;

/** A lead that shows nothing still counts this much where the others show nothing either. */
const least = 1e-3;

/** From this readability on a lead is clear by itself. */
const clear = 4;

/** Adds `x` times `share`, which has a value in the middle of each cell and runs straight between them. */
function addWeighted(x: Float32Array, n: number, share: Float32Array, cell: number, out: Float32Array): void {
  for (let i = 0; i < n; i++) out[i]! += between(share, i / cell - 0.5, share.length - 1) * x[i]!;
}

/** The value at a place between two of `values[0..last]`, straight; that at the end beyond it. */
function between(values: Float32Array, place: number, last: number): number {
  const k = Math.max(0, Math.min(last, Math.floor(place)));
  const next = Math.min(last, k + 1);
  return values[k]! + (values[next]! - values[k]!) * Math.max(0, place - k);
}
