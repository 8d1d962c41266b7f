import type { Marks } from '../../marks/markset';
import { between, lowerBound } from '../../marks/markset';
import { match } from '../../marks/match';
import { union } from '../../marks/spans';
import { joinInto, lengthOf } from '../../moments';
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
  /** Of each of these beats, how likely it is one by the second detector's own account; left out, all are certain. */
  readonly secondChance?: Float32Array;
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
  const off = new Int32Array(input.marks.length).fill(noneHere);
  const unmarked = pairInto(off, 0, input.marks, input.second, blind, input.features.samplingRateHz);
  return { off, unmarked };
}

/** Marks on either side of a change whose partners are looked for again. */
const pairedAgain = 40;

/** The opinion after an edit that left `head` marks at the start and `tail` at the end as they were. */
export function updateOpinion(
  before: SecondOpinion | null,
  input: SuspicionInput,
  blind: readonly Span[],
  head: number,
  tail: number,
): SecondOpinion | null {
  const { marks, second } = input;
  if (!before || !second) return null;
  const from = Math.max(0, head - pairedAgain);
  const to = Math.min(marks.length, marks.length - tail + pairedAgain);
  const start = from === 0 ? 0 : marks[from]! - 1;
  const end = to === marks.length ? Number.MAX_SAFE_INTEGER : marks[to - 1]! + 2;
  const off = new Int32Array(marks.length).fill(noneHere);
  const part = between(second, start, end);
  const unmarked = pairInto(off, from, marks.subarray(from, to), part, blind, input.features.samplingRateHz);
  const edge = Math.min(pairedAgain >> 1, head);
  const edgeEnd = Math.min(pairedAgain >> 1, tail);
  off.set(before.off.subarray(0, from + (from > 0 ? edge : 0)));
  const keep = tail - pairedAgain + (to < marks.length ? edgeEnd : 0);
  if (to < marks.length) off.set(before.off.subarray(before.off.length - keep), marks.length - keep);
  const cutStart = from > 0 ? marks[from + edge]! : 0;
  const cutEnd = to < marks.length ? marks[marks.length - keep]! : end;
  return {
    off,
    unmarked: joined(
      between(before.unmarked, 0, cutStart),
      between(unmarked, cutStart, cutEnd),
      between(before.unmarked, cutEnd, end + 0x7fffffff),
    ),
  };
}

function joined(...parts: Marks[]): Marks {
  return joinInto(new Int32Array(lengthOf(parts)), parts);
}

/** Writes the offsets of `marks` into `off` from index `first` on; gives back the second detector's unmarked beats. */
function pairInto(
  off: Int32Array,
  first: number,
  marks: Marks,
  second: Marks,
  blind: readonly Span[],
  hz: number,
): Marks {
  const m = match(second, marks, blind, hz);
  for (let j = 0, i = 0; j < m.marks.length; j++, i++) {
    while (marks[i] !== m.marks[j]) i++;
    const partner = m.beatOfMark[j]!;
    if (partner >= 0) off[first + i] = m.beats[partner]! - marks[i]!;
  }
  const unmarked = new Int32Array(m.beats.length);
  let n = 0;
  for (let k = 0; k < m.beats.length; k++) if (m.markOfBeat[k] === -1) unmarked[n++] = m.beats[k]!;
  return unmarked.subarray(0, n);
}

export function toMilliseconds(context: SuspicionInput, samples: number): number {
  return (samples * 1000) / context.features.samplingRateHz;
}

/** The second detector's unmarked beats in `[start, end)`. */
export function unmarkedIn(context: Context, start: number, end: number): Marks {
  if (!context.opinion) return new Int32Array(0);
  return between(context.opinion.unmarked, start, end);
}

/** How likely it is that the second detector's beat at `at` is one. */
export function chanceOf({ second, secondChance }: Context, at: number): number {
  if (!second || !secondChance) return 1;
  const k = lowerBound(second, at);
  return second[k] === at ? (secondChance[k] ?? 1) : 1;
}

/** Marks on either side whose usual distance to the second detector's beats is taken. */
const offNeighbours = 8;
const offsets: number[] = [];

/** How far from the marks around mark i the second detector's beats usually lie, in samples: the median. */
export function usualOff({ off }: SecondOpinion, i: number): number {
  offsets.length = 0;
  for (let k = Math.max(0, i - offNeighbours); k <= Math.min(off.length - 1, i + offNeighbours); k++)
    if (k !== i && off[k] !== noneHere) offsets.push(off[k]!);
  offsets.sort((a, b) => a - b);
  return offsets[offsets.length >> 1] ?? 0;
}
