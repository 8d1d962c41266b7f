import type { Note } from '../../core/marks/edit';
import { has, type Marks } from '../../core/marks/markset';
import type { MarkVerdicts } from '../../core/marks/verdicts';
import type { Segment } from '../../core/recording/recording';
import type { Span } from '../../core/units';

/** Everything the strip draws, as plain data. A new object means something changed; nothing here is written to. */
export interface StripModel {
  /** One or two, drawn one above the other on one time axis: that of the first. */
  readonly recorders: readonly StripRecorder[];
}

export interface StripRecorder {
  readonly id: string;
  /** As people say it, e.g. 'chest band'. */
  readonly label: string;
  /** Hz; marks, spans and segments are sample indices at this rate. */
  readonly samplingRateHz: number;
  readonly sampleCount: number;
  /** Local wall time `YYYY-MM-DDTHH:MM:SS`, or null. */
  readonly startedAt: string | null;
  readonly tracks: readonly StripTrack[];
  readonly detected: Marks;
  readonly reviewed: Marks;
  readonly verdicts: MarkVerdicts;
  /** Sorted, disjoint. */
  readonly unreadable: readonly Span[];
  readonly gaps: readonly Span[];
  /** Where marks were judged right: those outside are drawn as not looked at yet. */
  readonly accepted: readonly Span[];
  readonly segments: readonly Segment[];
  readonly notes: readonly Note[];
  readonly suggestions: readonly SuggestedMark[];
  /** The beat the keys act on, a sample of `reviewed` (or of `detected`, for a removed one); null for none. */
  readonly selected: number | null;
  readonly caret: number | null;
  /** Why the place under the caret is worth a look, in words. */
  readonly reason?: string | null;
  /** What taking the suggestion under the caret would do, or ending the span begun. */
  readonly preview?: Preview | null;
  /** Where what is shown is not under review now; drawn faded. */
  readonly faded?: readonly Span[];
  /** A span begun and not ended yet. */
  readonly pendingSpan: Span | null;
  /** This recorder's clock on the shared axis. */
  readonly axis: ClockMap;
  /** Names of the two mark lanes where they are not the usual ones, e.g. 'rater A' and 'rater B'. */
  readonly laneNames?: { readonly detected: string; readonly reviewed: string; readonly interval?: string };
  /** Two raters' marks, one lane above the detected ones and one below; `verdicts` is then of no lane. */
  readonly raters?: RaterLanes;
  /** Places pointed out, e.g. when a lesson's answers are walked. */
  readonly pointers?: readonly StripPointer[];
}

/** A bracket under the trace over a place, and on the current one what in it tells. */
export interface StripPointer {
  readonly span: Span;
  readonly label: string;
  /** Where the telling feature shows: framed in the interval lane, or underlined below the trace. */
  readonly lane: 'trace' | 'interval';
  /** Samples of the R peak and of a mark to point at, each with an arrow and a word. */
  readonly peak: number | null;
  readonly mark: number | null;
  readonly current: boolean;
}

export interface RaterLanes {
  readonly above: RaterLane;
  readonly below: RaterLane;
  /** Whether `reviewed`, e.g. what a supervisor settled, has a lane of its own under them. */
  readonly settled: boolean;
  /** Stretches in which the two differ, and those of the current difference. */
  readonly disputed: readonly Span[];
  readonly inHand: readonly Span[];
}

/** One rater's marks against the detected ones. */
export interface RaterLane {
  readonly name: string;
  readonly marks: Marks;
  readonly verdicts: MarkVerdicts;
  readonly unreadable: readonly Span[];
}

/** One lead of one recorder. */
export interface StripTrack {
  readonly id: string;
  readonly recorderLabel: string;
  readonly leadName: string;
  /** Hz, of this lead. */
  readonly samplingRateHz: number;
  /**
   * Fills `out` with the lowest and highest value in mV of `columnCount` equal columns of `[startSeconds, endSeconds)` on the
   * recorder's own clock; NaN where there is no signal. At a few samples a pixel the strip asks for one column per
   * sample, with both ends on whole samples: round, do not floor. `coarse`: a stand-in for now; `absent`: nothing
   * yet. Either may start loading, followed by `StripChart.invalidate()`.
   */
  columns(
    startSeconds: number,
    endSeconds: number,
    columnCount: number,
    out: TraceColumns,
  ): 'exact' | 'coarse' | 'absent';
  /** What is switched on, in words, e.g. 'baseline and 50 Hz filtered'. */
  readonly filteredNote?: string;
}

export interface TraceColumns {
  readonly min: Float32Array;
  readonly max: Float32Array;
}

/** A suggestion, taken with one key; drawn hollow and dashed. */
export type SuggestedMark =
  | { readonly kind: 'insert'; readonly at: number }
  | { readonly kind: 'move'; readonly from: number; readonly at: number }
  | { readonly kind: 'delete'; readonly at: number }
  | { readonly kind: 'unreadable'; readonly at: number; readonly end: number };

/** Whether a suggestion, worked out a moment ago, can still be taken on the marks as they are now. */
export function canBeTaken(suggestion: SuggestedMark, reviewed: Marks): boolean {
  if (suggestion.kind === 'unreadable') return true;
  if (suggestion.kind === 'delete') return has(reviewed, suggestion.at);
  return !has(reviewed, suggestion.at) && (suggestion.kind === 'insert' || has(reviewed, suggestion.from));
}

/** Marks taken out and put in, and a stretch called unreadable; samples. */
export interface Preview {
  readonly removed: readonly number[];
  readonly added: readonly number[];
  readonly unreadable: Span | null;
}

/** A clock's seconds on the shared axis and back. Straight line: offset and drift. */
export interface ClockMap {
  readonly toAxisSeconds: (recorderSeconds: number) => number;
  readonly fromAxisSeconds: (axisSeconds: number) => number;
}

export const sameClock: ClockMap = { toAxisSeconds: s => s, fromAxisSeconds: s => s };

/** A recorder that started `offsetSeconds` after the axis' zero and runs fast by `driftPpm`. */
export function shiftedClock(offsetSeconds: number, driftPpm: number): ClockMap {
  const pace = 1 + driftPpm / 1e6;
  return { toAxisSeconds: s => offsetSeconds + s / pace, fromAxisSeconds: s => (s - offsetSeconds) * pace };
}

export interface StripView {
  /** Left edge of the first row, seconds on the axis. */
  readonly startSeconds: number;
  readonly mmPerSecond: number;
  readonly mmPerMv: number;
  /** CSS pixels per paper millimetre, from calibrating the screen. */
  readonly pxPerMm: number;
  readonly rows: number;
  /** Left edge of each row where they are apart in time; without it they are continuous, like lines of text. */
  readonly rowStarts?: readonly number[];
  readonly devicePixelRatio: number;
  /** Any change of this string makes the strip read its colours again. */
  readonly theme: string;
  /** 1 for the usual size of words, more for larger text. */
  readonly textScale?: number;
}

export type LaneName = 'trace' | 'detected' | 'reviewed' | 'interval' | 'unreadable';

export interface Picked {
  readonly recorderId: string;
  readonly rowIndex: number;
  /** On that recorder's clock, clipped to the recording. */
  readonly sample: number;
  readonly lane: LaneName;
  /** The mark within reach of the pointer; of the lane's own list, on the trace of the reviewed list. */
  readonly nearMark: number | null;
}
