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
  /** Per beat: 1 when it is on the peak but not at the very sample of its mark, else 0. */
  readonly moved: Uint8Array;
  /** Per mark: index into `beats` of its partner, -1 when extra. */
  readonly beatOfMark: Int32Array;
  /** Indices of the beats not on the peak, ascending. */
  readonly beatsOffPeak: Int32Array;
  /** Indices of the marks not on the peak, ascending. */
  readonly marksOffPeak: Int32Array;
  /**
   * Beats k, ascending, after which something may be amiss. Of every other k but the last, k and k + 1 are on the peak
   * and their marks neighbours, in order. So whoever counts needs to look at these alone.
   */
  readonly doubtful: Int32Array;
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
  const pairing: Pairing = {
    beats: r,
    marks: d,
    markOfBeat: new Int32Array(r.length).fill(-1),
    beatOfMark: new Int32Array(d.length).fill(-1),
    outcome: new Uint8Array(r.length),
    moved: new Uint8Array(r.length),
  };
  const left = pairOnPeak(pairing, reachInSamples(settings.onPeakToleranceMs, samplingRateHz));
  pairWrongPeaks(pairing, left, reachInSamples(settings.wrongPeakWindowMs, samplingRateHz));
  return {
    ...pairing,
    beatsOffPeak: new Int32Array(left.beats),
    marksOffPeak: new Int32Array(left.marks),
    doubtful: new Int32Array(left.doubtful),
  };
}

type Pairing = Omit<Matching, 'beatsOffPeak' | 'marksOffPeak' | 'doubtful'>;

/** Distances are whole samples, so the whole part of a reach holds the same pairs; and whole numbers compare faster. */
export function reachInSamples(ms: number, samplingRateHz: number): number {
  return Math.min(Math.floor((ms * samplingRateHz) / 1000), never);
}

/** Where the next one is when there is none: the last sample an Int32 can name. */
const never = 0x7fffffff;

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

/** What step 2 leaves, as `beatsOffPeak`, `marksOffPeak` and `doubtful`. */
interface Left {
  readonly beats: number[];
  readonly marks: number[];
  readonly doubtful: number[];
}

/**
 * Step 2, in one pass along both. Beats and marks that reach each other, from one to the next, form a cluster; nearly
 * always it is one of each, paired at once. Only the pairs of a larger cluster are collected and sorted. Marks are never
 * shared between clusters, so their order does not matter. Returns what is left.
 */
function pairOnPeak(state: Pairing, reach: number): Left {
  const { beats, marks, markOfBeat, beatOfMark, outcome, moved } = state;
  // As plain constants and variables: this loop runs over every beat and mark at every edit.
  const { onPeak } = BeatOutcome;
  const left: Left = { beats: [], marks: [], doubtful: [] };
  let k = 0;
  let j = 0;
  let beat = beats[0] ?? never;
  let mark = marks[0] ?? never;
  while (k < beats.length && j < marks.length) {
    if (beat - mark > reach) {
      doubt(left, k, k);
      left.marks.push(j++);
      mark = marks[j] ?? never;
    } else if (mark - beat > reach) {
      doubt(left, k, k + 1);
      left.beats.push(k++);
      beat = beats[k] ?? never;
    } else {
      let nextBeat = k + 1 < beats.length ? beats[k + 1]! : never;
      let nextMark = j + 1 < marks.length ? marks[j + 1]! : never;
      if (nextMark - beat > reach && nextBeat - mark > reach) {
        markOfBeat[k] = j;
        beatOfMark[j] = k;
        outcome[k] = onPeak;
        moved[k] = isNotZero(mark - beat);
        k++;
        j++;
      } else {
        const [beatEnd, markEnd] = clusterEnd(state, reach, k, j);
        doubt(left, k, beatEnd);
        settle(state, pairsWithin(state, reach, [k, beatEnd], [j, markEnd]), onPeak);
        for (; k < beatEnd; k++) {
          if (markOfBeat[k] === -1) left.beats.push(k);
          else moved[k] = isNotZero(marks[markOfBeat[k]!]! - beats[k]!);
        }
        for (; j < markEnd; j++) if (beatOfMark[j] === -1) left.marks.push(j);
        nextBeat = beats[k] ?? never;
        nextMark = marks[j] ?? never;
      }
      beat = nextBeat;
      mark = nextMark;
    }
  }
  if (k < beats.length || j < marks.length) doubt(left, k, beats.length);
  while (k < beats.length) left.beats.push(k++);
  while (j < marks.length) left.marks.push(j++);
  return left;
}

/** 1 or 0 without a branch: about half of the beats may be moved, which no processor can guess. */
function isNotZero(whole: number): number {
  return (whole | -whole) >>> 31;
}

/** Something happened between the beat before k and beat `end`: what follows the beats from the one before k on is in doubt. */
function doubt({ doubtful }: Left, k: number, end: number): void {
  for (let b = Math.max(k - 1, (doubtful.at(-1) ?? -1) + 1); b < end; b++) doubtful.push(b);
}

/** Ends of the cluster that beat k and mark j begin. */
function clusterEnd({ beats, marks }: Pairing, reach: number, k: number, j: number): [number, number] {
  let beatEnd = k + 1;
  let markEnd = j + 1;
  for (;;) {
    if (markEnd < marks.length && marks[markEnd]! - beats[beatEnd - 1]! <= reach) markEnd++;
    else if (beatEnd < beats.length && beats[beatEnd]! - marks[markEnd - 1]! <= reach) beatEnd++;
    else return [beatEnd, markEnd];
  }
}

type IndexRange = readonly [from: number, to: number];

/** Beat and mark, in turn, of each pair within reach; the ranges are half open. */
function pairsWithin({ beats, marks }: Pairing, reach: number, ofBeats: IndexRange, ofMarks: IndexRange): number[] {
  const pairs: number[] = [];
  let first = ofMarks[0];
  for (let k = ofBeats[0]; k < ofBeats[1]; k++) {
    while (first < ofMarks[1] && beats[k]! - marks[first]! > reach) first++;
    for (let j = first; j < ofMarks[1] && marks[j]! - beats[k]! <= reach; j++) pairs.push(k, j);
  }
  return pairs;
}

/** Step 3: the same among what is left, which is little, each beat looking no further than its neighbours. */
function pairWrongPeaks(state: Pairing, left: Left, reach: number): void {
  const { beats, marks } = state;
  const pairs: number[] = [];
  let first = 0;
  for (const k of left.beats) {
    const [lo, hi] = reachOf(beats, k, reach);
    while (first < left.marks.length && marks[left.marks[first]!]! < lo) first++;
    for (let i = first; i < left.marks.length && marks[left.marks[i]!]! <= hi; i++) pairs.push(k, left.marks[i]!);
  }
  settle(state, pairs, BeatOutcome.wrongPeak);
}

/** The closed range of samples in which beat k may find a mark on another of its waves. */
function reachOf(beats: Marks, k: number, reach: number): [number, number] {
  const lo = beats[k]! - reach;
  const hi = beats[k]! + reach;
  const before = k > 0 ? beats[k - 1]! + 1 : lo;
  const after = k + 1 < beats.length ? beats[k + 1]! - 1 : hi;
  return [Math.max(lo, before), Math.min(hi, after)];
}

/** Closest first; ties: the earlier beat, then the earlier mark. `pairs` holds beat and mark in turn, beat by beat. */
function settle(state: Pairing, pairs: readonly number[], outcome: BeatOutcome): void {
  for (const i of closestFirst(state, pairs)) {
    const k = pairs[i]!;
    const j = pairs[i + 1]!;
    if (state.markOfBeat[k] !== -1 || state.beatOfMark[j] !== -1) continue;
    state.markOfBeat[k] = j;
    state.beatOfMark[j] = k;
    state.outcome[k] = outcome;
  }
}

/** Where each pair begins. The sort is stable: equals keep the order of beats, then of marks, they were collected in. */
function closestFirst({ beats, marks }: Pairing, pairs: readonly number[]): number[] {
  const order: number[] = [];
  for (let i = 0; i < pairs.length; i += 2) order.push(i);
  const distance = (i: number) => Math.abs(beats[pairs[i]!]! - marks[pairs[i + 1]!]!);
  return order.sort((a, b) => distance(a) - distance(b));
}
