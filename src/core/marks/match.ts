import type { Span } from '../units';
import { lowerBound, type Marks } from './markset';
import { firstEndingAfter, normalise } from './spans';

/**
 * The one matcher: detector v reviewed, rater v rater, learner v answer key. All over typed arrays; only
 * contested pairs are sorted, so the cost grows linearly with the marks.
 */

export interface MatchSettings {
  /** |mark - beat| up to this is on the peak. Default 50 ms: half of a normal QRS. */
  readonly onPeakToleranceMs: number;
  /** A mark this close to a beat nobody found sits on another wave of that beat. Default 400 ms: P wave to T wave. */
  readonly wrongPeakWindowMs: number;
}

export const defaultMatchSettings: MatchSettings = { onPeakToleranceMs: 50, wrongPeakWindowMs: 400 };

/** What a beat met: `onPeak`, `wrongPeak` (its mark is on another wave) or `missed`. */
export enum BeatOutcome {
  missed = 0,
  onPeak = 1,
  wrongPeak = 2,
}

export interface Matching {
  /** Beats outside the excluded spans. */
  readonly beats: Marks;
  /** Marks outside the excluded spans. */
  readonly marks: Marks;
  /** Per beat: index into `marks` of its partner, -1 when missed. */
  readonly markOfBeat: Int32Array;
  /** Per beat: a BeatOutcome. */
  readonly outcome: Uint8Array;
  /** Per mark: index into `beats` of its partner, -1 when extra. */
  readonly beatOfMark: Int32Array;
}

/**
 * Matches marks to beats at one sampling rate.
 * 1. Beats and marks in `excluded` (unreadable, no signal) are dropped.
 * 2. On the peak: one to one within the tolerance, closest first; ties: earlier beat, then earlier mark.
 * 3. Wrong peak: what is left, within the window and strictly between the neighbouring beats, closest first.
 * 4. The rest is missed (beats) or extra (marks).
 */
export function match(
  beats: Marks,
  marks: Marks,
  excluded: readonly Span[],
  samplingRateHz: number,
  settings: MatchSettings = defaultMatchSettings,
): Matching {
  const spans = normalise(excluded);
  const r = outside(beats, spans);
  const d = outside(marks, spans);
  const state: Matching = {
    beats: r,
    marks: d,
    markOfBeat: new Int32Array(r.length).fill(-1),
    beatOfMark: new Int32Array(d.length).fill(-1),
    outcome: new Uint8Array(r.length),
  };
  pairUp(state, (settings.onPeakToleranceMs * samplingRateHz) / 1000, BeatOutcome.onPeak);
  pairUp(state, (settings.wrongPeakWindowMs * samplingRateHz) / 1000, BeatOutcome.wrongPeak);
  return state;
}

/** The marks that lie in none of the (normalised) spans. */
export function outside(marks: Marks, spans: readonly Span[]): Marks {
  if (spans.length === 0) return marks;
  const out = new Int32Array(marks.length);
  let n = 0;
  let from = 0;
  for (let k = firstEndingAfter(spans, marks[0] ?? 0); k <= spans.length && from < marks.length; k++) {
    const to = k === spans.length ? marks.length : lowerBound(marks, spans[k]!.start);
    out.set(marks.subarray(from, to), n);
    n += Math.max(0, to - from);
    if (k < spans.length) from = lowerBound(marks, spans[k]!.end);
  }
  return out.subarray(0, n);
}

/** Instead of the one mark that a beat may take: it may take none, or several. */
const none = -1;
const several = -2;

/**
 * Pairs unpaired beats and marks within `reach` samples, closest first. A pair that is each other's only candidate is
 * taken at once; only the others are collected and sorted.
 */
function pairUp(state: Matching, reach: number, outcome: BeatOutcome): void {
  const { beats, marks, beatOfMark } = state;
  const { markFor, wanted } = candidates(state, reach, outcome);
  const contested: number[] = [];
  for (let k = 0; k < beats.length; k++) {
    const j = markFor[k]!;
    if (j === none) continue;
    if (j >= 0 && wanted[j] === 1) {
      join(state, k, j, outcome);
      continue;
    }
    const [lo, hi] = reachOf(beats, k, reach, outcome);
    for (let i = lowerBound(marks, lo); i < marks.length && marks[i]! <= hi; i++) {
      if (beatOfMark[i] === -1) contested.push(k, i);
    }
  }
  if (contested.length > 0) settleContested(state, contested, outcome);
}

/** The closed range of samples in which beat k may find a mark, at the given step. */
function reachOf(beats: Marks, k: number, reach: number, outcome: BeatOutcome): [number, number] {
  const lo = beats[k]! - reach;
  const hi = beats[k]! + reach;
  if (outcome === BeatOutcome.onPeak) return [lo, hi];
  const before = k > 0 ? beats[k - 1]! + 1 : lo;
  const after = k + 1 < beats.length ? beats[k + 1]! - 1 : hi;
  return [Math.max(lo, before), Math.min(hi, after)];
}

/**
 * Per unpaired beat the unpaired mark in reach, `none` or `several`; per mark by how many beats it is wanted, counted
 * to two. The start of the reach only moves on from beat to beat, so one pass finds them all.
 */
function candidates(state: Matching, reach: number, outcome: BeatOutcome) {
  const { beats, marks, markOfBeat, beatOfMark } = state;
  const markFor = new Int32Array(beats.length).fill(none);
  const wanted = new Uint8Array(marks.length);
  const bounded = outcome === BeatOutcome.wrongPeak;
  let first = 0;
  for (let k = 0; k < beats.length; k++) {
    if (markOfBeat[k] !== -1) continue;
    let lo = beats[k]! - reach;
    let hi = beats[k]! + reach;
    if (bounded && k > 0 && beats[k - 1]! >= lo) lo = beats[k - 1]! + 1;
    if (bounded && k + 1 < beats.length && beats[k + 1]! <= hi) hi = beats[k + 1]! - 1;
    while (first < marks.length && marks[first]! < lo) first++;
    for (let j = first; j < marks.length && marks[j]! <= hi; j++) {
      if (beatOfMark[j] !== -1) continue;
      markFor[k] = markFor[k] === none ? j : several;
      if (wanted[j]! < 2) wanted[j]!++;
    }
  }
  return { markFor, wanted };
}

function settleContested(state: Matching, contested: readonly number[], outcome: BeatOutcome): void {
  const { beats, marks, markOfBeat, beatOfMark } = state;
  const order = Array.from({ length: contested.length / 2 }, (_, i) => i * 2);
  const distance = (i: number) => Math.abs(beats[contested[i]!]! - marks[contested[i + 1]!]!);
  order.sort(
    (a, b) => distance(a) - distance(b) || contested[a]! - contested[b]! || contested[a + 1]! - contested[b + 1]!,
  );
  for (const i of order) {
    const k = contested[i]!;
    const j = contested[i + 1]!;
    if (markOfBeat[k] === -1 && beatOfMark[j] === -1) join(state, k, j, outcome);
  }
}

function join(state: Matching, k: number, j: number, outcome: BeatOutcome): void {
  state.markOfBeat[k] = j;
  state.beatOfMark[j] = k;
  state.outcome[k] = outcome;
}
