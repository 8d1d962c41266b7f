import { log } from '../elementary';
import { lowerBound, type Marks, marksFrom } from '../marks/markset';
import { covers, normalise } from '../marks/spans';
import { type Random, randomFrom } from '../random';
import type { SampleIndex, Span } from '../units';
import type { Ecg } from './ecg';

/** `shifted`: on the flank of its own QRS, outside the tolerance; a score counts it as a wrong peak. */
export type PlantedKind = 'missed' | 'wrongPeak' | 'extra' | 'shifted';
export type PlantedOn = 'T wave' | 'P wave' | 'QRS flank' | 'artefact';

export interface Planted {
  readonly kind: PlantedKind;
  /** The true beat; null for an extra mark. */
  readonly beat: SampleIndex | null;
  /** Where the mark is; null for a missed beat. */
  readonly mark: SampleIndex | null;
  /** What the mark sits on; null for a missed beat. */
  readonly on: PlantedOn | null;
}

export type PlantCounts = Readonly<Record<PlantedKind, number>>;

export interface PlantStretch extends Span, PlantCounts {}

export interface PlantPlan {
  /** Exact numbers of mistakes, stretch by stretch. Stretches must not overlap. */
  readonly stretches: readonly PlantStretch[];
  /** How much likelier a beat in noise is to be mistaken than one out of it. Default 1. */
  readonly noiseWeight?: number;
  /** Longest run of consecutive missed beats. Default 1. */
  readonly longestRun?: number;
  /** Beats between two mistakes that keep their right marks, at least; 1 keeps every count exact. Default 1. */
  readonly soundBeatsBetween?: number;
  /** What wrong and extra marks may sit on. Default all. */
  readonly wrongMarksOn?: readonly ('T wave' | 'P wave' | 'artefact')[];
  /** Share of the right marks that lie a few ms beside the apex, within the tolerance. Default 0. */
  readonly jitterShare?: number;
  /** Whether marks are scattered over unreadable stretches, as a recorder does on noise. Default true. */
  readonly marksOnNoise?: boolean;
}

export interface PlantResult {
  readonly detected: Marks;
  /** By place. */
  readonly planted: readonly Planted[];
  /** Right marks that are not on the apex to the sample. */
  readonly jittered: readonly { readonly beat: SampleIndex; readonly mark: SampleIndex }[];
}

export type PlantTarget = Pick<
  Ecg,
  'samplingRateHz' | 'sampleCount' | 'beats' | 'pPeaks' | 'tPeaks' | 'noiseSpans' | 'unreadable'
>;

/** Wrong marks keep this far from every beat: over the default tolerance of 50 ms with room to spare. */
const clearanceMs = 65;
/** ... and stay within the default window of 400 ms. */
const reachMs = 380;
const longestJitterMs = 20;

/**
 * Marks of a detector that makes known mistakes. Scored with the default settings against the true beats and unreadable
 * spans they give exactly the planned counts, stretch by stretch, because a mistaken beat always has sound neighbours
 * (or is one of a run of missed ones), an extra mark lies between two sound beats, and nothing is planted within
 * half a second of an unreadable stretch. Throws a RangeError when there is no room for so many.
 */
export function plantMistakes(target: PlantTarget, plan: PlantPlan, seed: string | number): PlantResult {
  const field = new Field(target, plan, randomFrom(`${seed}/plant`));
  const order: PlantedKind[] = ['missed', 'wrongPeak', 'shifted', 'extra'];
  for (const stretch of plan.stretches) for (const kind of order) field.plant(kind, stretch);
  return field.result(randomFrom(`${seed}/jitter`));
}

/**
 * Numbers of mistakes for a stretch from shares of its readable beats, rounded to whole ones; with `random`, up or down
 * by chance, so that small shares come out right on average.
 */
export function countsByShare(
  target: PlantTarget,
  where: Span,
  shares: Partial<PlantCounts>,
  random?: Random,
): PlantStretch {
  const spans = normalise(target.unreadable);
  let readable = 0;
  for (let k = lowerBound(target.beats, where.start); k < lowerBound(target.beats, where.end); k++) {
    if (!covers(spans, target.beats[k]!)) readable++;
  }
  const count = (kind: PlantedKind) => Math.floor(readable * (shares[kind] ?? 0) + (random?.uniform() ?? 0.5));
  return {
    start: where.start,
    end: where.end,
    missed: count('missed'),
    wrongPeak: count('wrongPeak'),
    extra: count('extra'),
    shifted: count('shifted'),
  };
}

class Field {
  private readonly beats: Marks;
  /** 1 where mistakes may be planted: this beat and its neighbours are clear of unreadable stretches. */
  private readonly open: Uint8Array;
  /** 1 where a beat is mistaken or next to an extra mark. */
  private readonly taken: Uint8Array;
  private readonly weight: Float64Array;
  /** Per beat: its mark, -1 when missed. */
  private readonly markOf: Int32Array;
  private readonly extras: number[] = [];
  private readonly planted: Planted[] = [];
  private readonly unreadable: readonly Span[];
  private readonly ms: number;

  constructor(
    private readonly target: PlantTarget,
    private readonly plan: PlantPlan,
    private readonly random: Random,
  ) {
    this.beats = target.beats;
    this.ms = target.samplingRateHz / 1000;
    this.unreadable = normalise(target.unreadable);
    this.taken = new Uint8Array(this.beats.length);
    this.markOf = Int32Array.from(this.beats);
    this.open = Uint8Array.from(this.beats, (_, k) => (this.isOpen(k) ? 1 : 0));
    const noisy = normalise(target.noiseSpans.filter(n => n.kind !== 'baseline'));
    this.weight = Float64Array.from(this.beats, beat => (covers(noisy, beat) ? (plan.noiseWeight ?? 1) : 1));
  }

  private isOpen(k: number): boolean {
    if (k < 1 || k > this.beats.length - 2) return false;
    const margin = 500 * this.ms;
    const from = this.beats[k - 1]! - margin;
    const to = this.beats[k + 1]! + margin;
    return from >= 0 && to < this.target.sampleCount && !this.unreadable.some(s => s.start < to && s.end > from);
  }

  plant(kind: PlantedKind, stretch: PlantStretch): void {
    // The beat on each side lies in the stretch too, so that no interval is counted elsewhere.
    const lo = lowerBound(this.beats, stretch.start) + 1;
    const hi = lowerBound(this.beats, stretch.end) - 1;
    for (let left = stretch[kind]; left > 0; ) {
      const done = this.plantSome(kind, lo, hi, left);
      if (done === 0)
        throw new RangeError(`no room for ${left} more of kind ${kind} in [${stretch.start}, ${stretch.end})`);
      left -= done;
    }
  }

  /** Plants one mistake (or one run of missed beats) somewhere in beats [lo, hi); returns how many it counts for. */
  private plantSome(kind: PlantedKind, lo: number, hi: number, most: number): number {
    const order = weightedOrder(this.weight, lo, hi, this.random);
    for (const k of order) {
      const done =
        kind === 'missed'
          ? this.dropRun(k, hi, most)
          : kind === 'extra'
            ? this.addExtra(k, hi)
            : this.misplace(kind, k);
      if (done > 0) return done;
    }
    return 0;
  }

  private free(from: number, to: number): boolean {
    const apart = this.plan.soundBeatsBetween ?? 1;
    for (let k = from; k <= to; k++) if (this.open[k] !== 1) return false;
    for (let k = Math.max(0, from - apart); k <= Math.min(to + apart, this.taken.length - 1); k++) {
      if (this.taken[k] === 1) return false;
    }
    return true;
  }

  private dropRun(k: number, hi: number, most: number): number {
    const wanted = Math.min(most, hi - k, 1 + this.random.integer(this.plan.longestRun ?? 1));
    if (!this.free(k, k)) return 0;
    let length = 1;
    while (length < wanted && this.free(k, k + length)) length++;
    for (let i = k; i < k + length; i++) this.record('missed', i, -1, null);
    return length;
  }

  private misplace(kind: 'wrongPeak' | 'shifted', k: number): number {
    if (!this.free(k, k)) return 0;
    const beat = this.beats[k]!;
    const reach = reachMs * this.ms;
    for (const [mark, on] of this.places(kind, k, beat - reach, beat + reach)) {
      if (Math.abs(mark - beat) > reach || !this.clear(mark, k - 1, k + 1)) continue;
      this.record(kind, k, mark, on);
      return 1;
    }
    return 0;
  }

  private addExtra(k: number, hi: number): number {
    if (k + 1 >= hi || !this.free(k, k + 1)) return 0;
    for (const [mark, on] of this.places('extra', k, this.beats[k]!, this.beats[k + 1]!)) {
      if (mark <= this.beats[k]! || mark >= this.beats[k + 1]! || !this.clear(mark, k, k + 1)) continue;
      this.taken[k] = 1;
      this.taken[k + 1] = 1;
      this.extras.push(mark);
      this.planted.push({ kind: 'extra', beat: null, mark: mark as SampleIndex, on });
      return 1;
    }
    return 0;
  }

  /** Places a wrong mark of beat k may take, likeliest first. */
  private places(kind: PlantedKind, k: number, from: number, to: number): [number, PlantedOn][] {
    if (kind === 'shifted') {
      const off = Math.round((clearanceMs + 5 + 35 * this.random.uniform()) * this.ms);
      const late = this.random.uniform() < 0.6;
      return [
        [this.beats[k]! + (late ? off : -off), 'QRS flank'],
        [this.beats[k]! + (late ? -off : off), 'QRS flank'],
      ];
    }
    const kinds = this.plan.wrongMarksOn ?? ['T wave', 'P wave', 'artefact'];
    const p = this.target.pPeaks[kind === 'extra' ? k + 1 : k]!;
    const places: [number, PlantedOn][] = [];
    for (const on of shuffledBy(kinds, { 'T wave': 6, 'P wave': 2, artefact: 2 }, this.random)) {
      if (on === 'T wave' && this.target.tPeaks[k]! >= 0) places.push([this.target.tPeaks[k]!, on]);
      if (on === 'P wave' && p >= 0) places.push([p, on]);
      if (on !== 'artefact') continue;
      for (let i = 0; i < 8; i++) places.push([Math.round(this.random.between(from, to)), on]);
    }
    return places;
  }

  /** Far enough from every beat to be on none, after beat a and before beat b, and readable. */
  private clear(mark: number, a: number, b: number): boolean {
    const clearance = clearanceMs * this.ms;
    if (mark < this.beats[a]! + clearance || mark > this.beats[b]! - clearance) return false;
    for (let k = a; k <= b; k++) if (Math.abs(mark - this.beats[k]!) < clearance) return false;
    return !covers(this.unreadable, mark);
  }

  private record(kind: PlantedKind, k: number, mark: number, on: PlantedOn | null): void {
    this.taken[k] = 1;
    this.markOf[k] = mark;
    const beat = this.beats[k]! as SampleIndex;
    this.planted.push({ kind, beat, mark: mark === -1 ? null : (mark as SampleIndex), on });
  }

  result(random: Random): PlantResult {
    const jittered = this.jitter(random);
    const marks = [...this.extras];
    for (const [k, beat] of this.beats.entries()) {
      if (this.markOf[k] !== -1 && !covers(this.unreadable, beat)) marks.push(this.markOf[k]!);
    }
    if (this.plan.marksOnNoise ?? true) for (const s of this.unreadable) this.scatter(s, marks, random);
    const at = (p: Planted) => p.beat ?? p.mark!;
    return { detected: marksFrom(marks), planted: this.planted.sort((a, b) => at(a) - at(b)), jittered };
  }

  private jitter(random: Random): PlantResult['jittered'] {
    const out: { beat: SampleIndex; mark: SampleIndex }[] = [];
    const most = Math.max(1, Math.floor(longestJitterMs * this.ms));
    for (const [k, beat] of this.beats.entries()) {
      if (random.uniform() >= (this.plan.jitterShare ?? 0) || this.open[k] !== 1 || this.taken[k] === 1) continue;
      const off = (1 + random.integer(most)) * (random.uniform() < 0.5 ? -1 : 1);
      this.markOf[k] = beat + off;
      out.push({ beat: beat as SampleIndex, mark: (beat + off) as SampleIndex });
    }
    return out;
  }

  private scatter({ start, end }: Span, marks: number[], random: Random): void {
    for (let at = start + 200 * this.ms; at < end - 100 * this.ms; at += random.between(300, 1400) * this.ms) {
      marks.push(Math.round(at));
    }
  }
}

/** Indices [lo, hi) in random order, heavier ones sooner: keys -ln(u)/w, smallest first (Efraimidis & Spirakis 2006). */
function weightedOrder(weight: Float64Array, lo: number, hi: number, random: Random): number[] {
  const keyed: { k: number; late: number }[] = [];
  for (let k = lo; k < hi; k++) keyed.push({ k, late: -log(1 - random.uniform()) / weight[k]! });
  return keyed.sort((a, b) => a.late - b.late || a.k - b.k).map(x => x.k);
}

function shuffledBy<T extends string>(items: readonly T[], weights: Record<T, number>, random: Random): T[] {
  const w = Float64Array.from(items, item => weights[item]);
  return weightedOrder(w, 0, items.length, random).map(i => items[i]!);
}
