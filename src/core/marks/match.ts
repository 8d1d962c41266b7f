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
 * Step 2, in one pass along both. Beats and marks that reach each other, from one to the next, form a cluster; nearly
 * always it is one of each, paired at once. Only the pairs of larger clusters are collected and sorted. Marks are never
 * shared between clusters, so their order does not matter.
 */
function pairOnPeak(state: Matching, reach: number): void {
  const { beats, marks, markOfBeat, beatOfMark, outcome } = state;
  const contested: number[] = [];
  const beatCount = beats.length;
  const markCount = marks.length;
  let k = 0;
  let j = 0;
  while (k < beatCount && j < markCount) {
    const late = marks[j]! - beats[k]!;
    if (late < -reach) j++;
    else if (late > reach) k++;
    else {
      let beatEnd = k + 1;
      let markEnd = j + 1;
      for (;;) {
        if (markEnd < markCount && marks[markEnd]! - beats[beatEnd - 1]! <= reach) markEnd++;
        else if (beatEnd < beatCount && beats[beatEnd]! - marks[markEnd - 1]! <= reach) beatEnd++;
        else break;
      }
      if (beatEnd === k + 1 && markEnd === j + 1) {
        markOfBeat[k] = j;
        beatOfMark[j] = k;
        outcome[k] = BeatOutcome.onPeak;
      } else addPairs(state, reach, [k, beatEnd], [j, markEnd], contested);
      k = beatEnd;
      j = markEnd;
    }
  }
  if (contested.length > 0) settleContested(state, contested, BeatOutcome.onPeak);
}

type IndexRange = readonly [from: number, to: number];

/** Adds beat and mark, in turn, of each pair within reach; the ranges are half open. */
function addPairs({ beats, marks }: Matching, reach: number, ofBeats: IndexRange, ofMarks: IndexRange, to: number[]) {
  let first = ofMarks[0];
  for (let k = ofBeats[0]; k < ofBeats[1]; k++) {
    while (first < ofMarks[1] && beats[k]! - marks[first]! > reach) first++;
    for (let j = first; j < ofMarks[1] && marks[j]! - beats[k]! <= reach; j++) to.push(k, j);
  }
}

/** Step 3: the same among what is left, which is little, each beat looking no further than its neighbours. */
function pairWrongPeaks(state: Matching, reach: number): void {
  const { beats, marks, markOfBeat, beatOfMark } = state;
  const contested: number[] = [];
  for (let k = markOfBeat.indexOf(-1); k !== -1; k = markOfBeat.indexOf(-1, k + 1)) {
    const [lo, hi] = reachOf(beats, k, reach);
    for (let j = lowerBound(marks, lo); j < marks.length && marks[j]! <= hi; j++)
      if (beatOfMark[j] === -1) contested.push(k, j);
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
