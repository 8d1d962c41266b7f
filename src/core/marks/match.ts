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
  pairOnPeak(state, (settings.onPeakToleranceMs * samplingRateHz) / 1000);
  pairWrongPeaks(state, (settings.wrongPeakWindowMs * samplingRateHz) / 1000);
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

/**
 * Step 2. A beat and a mark that are each other's only candidate are paired at once, in one pass along both; only the
 * others are collected and sorted. Marks are never shared between the two kinds, so the order does not matter.
 */
function pairOnPeak(state: Matching, reach: number): void {
  const { beats, marks, markOfBeat, beatOfMark, outcome } = state;
  const contested: number[] = [];
  const beatCount = beats.length;
  const markCount = marks.length;
  const never = Number.POSITIVE_INFINITY;
  let first = 0;
  let before = -never;
  let beat = beatCount > 0 ? beats[0]! : never;
  for (let k = 0; k < beatCount; k++) {
    const after = k + 1 < beatCount ? beats[k + 1]! : never;
    while (first < markCount && marks[first]! < beat - reach) first++;
    if (first === markCount) break;
    const mark = marks[first]!;
    if (mark <= beat + reach) {
      const several = first + 1 < markCount && marks[first + 1]! <= beat + reach;
      if (several || mark - before <= reach || after - mark <= reach) {
        for (let j = first; j < markCount && marks[j]! <= beat + reach; j++) contested.push(k, j);
      } else {
        markOfBeat[k] = first;
        beatOfMark[first] = k;
        outcome[k] = BeatOutcome.onPeak;
      }
    }
    before = beat;
    beat = after;
  }
  if (contested.length > 0) settleContested(state, contested, BeatOutcome.onPeak);
}

/** Step 3: the same among what is left, which is little, each beat looking no further than its neighbours. */
function pairWrongPeaks(state: Matching, reach: number): void {
  const { beats, marks, markOfBeat, beatOfMark } = state;
  const left: number[] = [];
  for (let k = 0; k < markOfBeat.length; k++) if (markOfBeat[k] === -1) left.push(k);
  const contested: number[] = [];
  let first = 0;
  for (const k of left) {
    const [lo, hi] = reachOf(beats, k, reach);
    while (first < marks.length && marks[first]! < lo) first++;
    for (let j = first; j < marks.length && marks[j]! <= hi; j++) if (beatOfMark[j] === -1) contested.push(k, j);
  }
  if (contested.length > 0) settleContested(state, contested, BeatOutcome.wrongPeak);
}

/** The closed range of samples in which beat k may find a mark on another of its waves. */
function reachOf(beats: Marks, k: number, reach: number): [number, number] {
  const lo = beats[k]! - reach;
  const hi = beats[k]! + reach;
  const before = k > 0 ? beats[k - 1]! + 1 : lo;
  const after = k + 1 < beats.length ? beats[k + 1]! - 1 : hi;
  return [Math.max(lo, before), Math.min(hi, after)];
}

/** Closest first; ties: the earlier beat, then the earlier mark. `contested` holds beat and mark in turn. */
function settleContested(state: Matching, contested: readonly number[], outcome: BeatOutcome): void {
  const { beats, marks, markOfBeat, beatOfMark } = state;
  const order = Array.from({ length: contested.length / 2 }, (_, i) => i * 2);
  const distance = (i: number) => Math.abs(beats[contested[i]!]! - marks[contested[i + 1]!]!);
  // The pairs were collected beat by beat and mark by mark: a stable sort keeps that order among equals.
  order.sort((a, b) => distance(a) - distance(b));
  for (const i of order) {
    const k = contested[i]!;
    const j = contested[i + 1]!;
    if (markOfBeat[k] !== -1 || beatOfMark[j] !== -1) continue;
    markOfBeat[k] = j;
    beatOfMark[j] = k;
    state.outcome[k] = outcome;
  }
}
