import type { Marks } from '../../marks/markset';
import { lowerBound } from '../../marks/markset';
import { match } from '../../marks/match';
import { union } from '../../marks/spans';
import type { Span } from '../../units';
import type { BeatTable } from './beats';
import type { SignalFeatures } from './features';
import type { IntervalTable } from './intervals';

/** What suspicion is computed from. All positions in samples of the recording. */
export interface SuspicionInput {
  readonly features: SignalFeatures;
  /** The marks as reviewed so far. */
  readonly marks: Marks;
  /** A second detector's beats, or none when it has not run. */
  readonly second: Marks | null;
  /** Stretches in which the second detector could not see: its opinion does not count there. Sorted, disjoint. */
  readonly secondUnsure: readonly Span[];
  readonly gaps: readonly Span[];
  readonly unreadable: readonly Span[];
}

/** Second opinion on each mark and in between. */
export interface SecondOpinion {
  /** Per mark: nearest agreeing or rival beat of the second detector minus the mark, in samples; `noneHere` without. */
  readonly off: Int32Array;
  /** Beats of the second detector that have no mark near. */
  readonly unmarked: Marks;
}

export const noneHere = -0x80000000;

export interface Context extends SuspicionInput {
  readonly beats: BeatTable;
  readonly intervals: IntervalTable;
  /** Gaps and unreadable spans together. */
  readonly blind: readonly Span[];
  readonly opinion: SecondOpinion | null;
}

export function blindSpans(input: SuspicionInput): Span[] {
  return union(input.gaps, input.unreadable);
}

/** Pairs marks with the second detector's beats: on the peak within 50 ms, on another wave within 400 ms. */
export function secondOpinion(input: SuspicionInput, blind: readonly Span[]): SecondOpinion | null {
  if (!input.second) return null;
  const { marks, second } = input;
  const off = new Int32Array(marks.length).fill(noneHere);
  const m = match(second, marks, blind, input.features.samplingRateHz);
  for (let j = 0, i = 0; j < m.marks.length; j++, i++) {
    while (marks[i] !== m.marks[j]) i++;
    const partner = m.beatOfMark[j]!;
    if (partner >= 0) off[i] = m.beats[partner]! - marks[i]!;
  }
  const unmarked = new Int32Array(m.beats.length);
  let n = 0;
  for (let k = 0; k < m.beats.length; k++) if (m.markOfBeat[k] === -1) unmarked[n++] = m.beats[k]!;
  return { off, unmarked: unmarked.subarray(0, n) };
}

export function toMilliseconds(context: SuspicionInput, samples: number): number {
  return (samples * 1000) / context.features.samplingRateHz;
}

/** The second detector's unmarked beats in `[start, end)`. */
export function unmarkedIn(context: Context, start: number, end: number): Marks {
  if (!context.opinion) return new Int32Array(0);
  const { unmarked } = context.opinion;
  return unmarked.subarray(lowerBound(unmarked, start), lowerBound(unmarked, end));
}
