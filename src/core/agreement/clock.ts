import { medianSize } from '../moments';
import {
  type BeatPairs,
  type ClockLine,
  mutualPairs,
  residualsOf,
  robustLine,
  usualDrift,
  type Vote,
  voteForLine,
  widestDrift,
} from './clock-line';
import { coarseOffsets } from './heart-rate-lag';

/** The clocks of two recorders on one body: time in B = offset + (1 + drift) x time in A, each from its own start. */
export interface ClockFit {
  readonly found: true;
  /** Time in B at time 0 of A, in s. */
  readonly offsetSeconds: number;
  /** B's clock runs this much faster than A's, in parts per million. */
  readonly driftPpm: number;
  /** Pairs of beats both recorders have: indices into the two series, and B minus the line, in ms. */
  readonly pairs: BeatPairs;
  readonly residualsMs: Float64Array;
  /** Robust SD of the residuals (1.4826 MAD), in ms. */
  readonly residualSdMs: number;
  /** Beats of A and of B in the time both cover. */
  readonly beatsInOverlapA: number;
  readonly beatsInOverlapB: number;
  readonly method: string;
}

export type ClockAlignment = ClockFit | { readonly found: false; readonly reason: string };

const method =
  'coarse: cross-correlation of detrended RR courses (1 Hz, lags to 610 s), else every offset; fine: votes of beat pairs for lines, then mutual nearest beats and a biweight line';

/** Fewest pairs, smallest share of the beats in the overlap, and lead over the next best line that count as found. */
const fewestPairs = 40;
const smallestShare = 0.4;
const smallestLead = 1.25;
/**
 * Robust SD of the residuals over what it is for beats that fall within the tolerance by chance, evenly: a larger share is
 * refused. In simulation true pairs with 15 ms of jitter reach 0.46, and of 180 pairs of unrelated hearts the other
 * conditions let none through, a false rate of at most 1.7 % (95 % bound; tests/reference/clock/false-pairs.ts).
 */
export const largestChanceShare = 0.7;
/** Length of the stretch in the middle of the overlap that votes; the short one is for choosing among many offsets. */
const firstStretchSeconds = 1500;
const shortStretchSeconds = 600;
const pairToleranceSeconds = 0.05;
/** Robust SD of residuals that lie evenly within the tolerance. */
export const chanceSdMs = 1.4826 * 500 * pairToleranceSeconds;

/**
 * Estimates offset and drift from two beat series (times in s, increasing). Offsets to +-10 min, drift to +-1000 ppm:
 * first to +-200, and further where no line is found there.
 * The recorders must have some ten minutes in common for a drift good to 2 ppm; beats may be missing on both sides.
 */
export function alignClocks(
  timesA: ArrayLike<number>,
  timesB: ArrayLike<number>,
  chanceShare = largestChanceShare,
): ClockAlignment {
  const a = Float64Array.from(timesA);
  const b = Float64Array.from(timesB);
  if (a.length < fewestPairs || b.length < fewestPairs) {
    return { found: false, reason: `fewer than ${fewestPairs} beats on one recorder` };
  }
  const coarse = coarseOffsets(a, b, 12);
  const usual = found(a, b, votedOn(a, b, coarse, usualDrift), chanceShare);
  if (usual) return usual;
  const wide = found(a, b, votedOn(a, b, coarse, widestDrift), chanceShare);
  if (wide) return wide;
  const vote = votedOn(a, b, everyOffset(a, b), usualDrift);
  if (vote === null) return { found: false, reason: 'the recordings do not overlap long enough' };
  if (!leads(vote)) {
    return {
      found: false,
      reason: 'several offsets fit alike: the beats are too regular, too few, or not of one heart',
    };
  }
  const line = grow(a, b, vote);
  return judge(a, b, line, chanceShare);
}

/** The fit of a line that leads its rivals; null where it does not, or does not hold over the whole overlap. */
function found(a: Float64Array, b: Float64Array, vote: Vote | null, chanceShare: number): ClockFit | null {
  if (vote === null || !leads(vote)) return null;
  const fit = judge(a, b, grow(a, b, vote), chanceShare);
  return fit.found ? fit : null;
}

/** The best of the offsets by a short stretch, voted on again on a long one; the others stay its rivals. */
function votedOn(a: Float64Array, b: Float64Array, offsets: readonly number[], maxDrift: number): Vote | null {
  const short = bestVote(a, b, offsets, { stretchSeconds: shortStretchSeconds, maxDrift });
  return short && bestVote(a, b, [short.offset], { stretchSeconds: firstStretchSeconds, maxDrift }, short);
}

const leads = (vote: Vote) => vote.votes >= smallestLead * vote.rivalVotes;

/** Offsets every 4 s over +-610 s, for where the heart-rate courses do not tell. */
function everyOffset(a: Float64Array, b: Float64Array): number[] {
  const possible = (offset: number) => a[0]! + offset < b.at(-1)! && a.at(-1)! + offset > b[0]!;
  return Array.from({ length: 306 }, (_, i) => 4 * i - 610).filter(possible);
}

/**
 * Lets the beat pairs around each offset vote, on the middle of the overlap, and keeps the line with most votes. Its
 * rivals are all lines half a second or more away, and those an earlier search (`before`) held against it.
 */
function bestVote(
  a: Float64Array,
  b: Float64Array,
  offsets: readonly number[],
  { stretchSeconds, maxDrift }: { readonly stretchSeconds: number; readonly maxDrift: number },
  before?: Vote,
): Vote | null {
  const votes: Vote[] = [];
  for (const offset of offsets) {
    const { start, end } = overlapOf(a, b, { offset, drift: 0 });
    const middle = (start + end) / 2;
    const part = within(a, Math.max(start, middle - stretchSeconds / 2), Math.min(end, middle + stretchSeconds / 2));
    if (part.length >= fewestPairs) votes.push(voteForLine(part, b, offset, 2.5, maxDrift));
  }
  let best: Vote | null = null;
  for (const vote of votes) if (vote.votes > (best?.votes ?? 0)) best = vote;
  if (best === null) return null;
  // Votes of a shorter search count in proportion.
  let rivalVotes = Math.max(best.rivalVotes, before ? (before.rivalVotes / before.votes) * best.votes : 0);
  for (const vote of votes) {
    if (Math.abs(vote.offset - best.offset) > 0.5) rivalVotes = Math.max(rivalVotes, vote.votes);
  }
  return { ...best, rivalVotes };
}

/** Refits the line on a stretch that doubles until it holds the whole overlap, so a small drift error never loses a beat. */
function grow(a: Float64Array, b: Float64Array, start: ClockLine): ClockLine {
  let line = start;
  const { start: first, end: last } = overlapOf(a, b, line);
  const middle = (first + last) / 2;
  for (let length = firstStretchSeconds; ; length *= 2) {
    const part = within(a, middle - length / 2, middle + length / 2);
    for (let round = 0; round < 4; round++) {
      const pairs = mutualPairs(part, b, line, pairToleranceSeconds);
      if (pairs.a.length >= 3) line = robustLine(part, b, pairs, line);
    }
    if (length >= last - first) return line;
  }
}

function judge(a: Float64Array, b: Float64Array, line: ClockLine, chanceShare: number): ClockAlignment {
  const pairs = mutualPairs(a, b, line, pairToleranceSeconds);
  const { start, end } = overlapOf(a, b, line);
  const inA = within(a, start - 1e-6, end + 1e-6).length;
  const inB = within(b, clockB(line, start) - 1e-6, clockB(line, end) + 1e-6).length;
  const n = pairs.a.length;
  if (n < fewestPairs || n < smallestShare * Math.max(inA, inB)) {
    return { found: false, reason: `only ${n} beats agree, of ${inA} and ${inB} in the time both cover` };
  }
  const residualsMs = residualsOf(a, b, pairs, line).map(r => 1000 * r);
  const residualSdMs = 1.4826 * medianSize(residualsMs);
  if (residualSdMs > chanceShare * chanceSdMs) {
    return {
      found: false,
      reason: `the beats that agree lie ${Math.round(residualSdMs)} ms apart, little closer than by chance`,
    };
  }
  return {
    found: true,
    offsetSeconds: line.offset,
    driftPpm: 1e6 * line.drift,
    pairs,
    residualsMs,
    residualSdMs,
    beatsInOverlapA: inA,
    beatsInOverlapB: inB,
    method,
  };
}

const clockB = (line: ClockLine, timeA: number) => line.offset + (1 + line.drift) * timeA;

/** The time both cover, on A's clock; empty (end < start) where they do not overlap. */
function overlapOf(a: Float64Array, b: Float64Array, line: ClockLine): { start: number; end: number } {
  const toA = (t: number) => (t - line.offset) / (1 + line.drift);
  return { start: Math.max(a[0]!, toA(b[0]!)), end: Math.min(a.at(-1)!, toA(b.at(-1)!)) };
}

function within(times: Float64Array, start: number, end: number): Float64Array {
  return times.subarray(
    firstWhere(times, t => t >= start),
    firstWhere(times, t => t > end),
  );
}

/** Index of the first time that `holds`, as all after it do; their number where none does. */
function firstWhere(times: Float64Array, holds: (time: number) => boolean): number {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (holds(times[middle]!)) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** Time on B's clock of a time on A's, both in s from the recording's own start. Takes a fit or a line set by hand. */
export function toClockB(clock: Pick<ClockFit, 'offsetSeconds' | 'driftPpm'>, timeA: number): number {
  return clock.offsetSeconds + (1 + clock.driftPpm * 1e-6) * timeA;
}

/** Time on A's clock of a time on B's; undoes toClockB. */
export function toClockA(clock: Pick<ClockFit, 'offsetSeconds' | 'driftPpm'>, timeB: number): number {
  return (timeB - clock.offsetSeconds) / (1 + clock.driftPpm * 1e-6);
}
