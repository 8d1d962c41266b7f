import type { RecordingReview } from '../../marks/edit';
import { between, differing, lowerBound, type Marks, marksFrom } from '../../marks/markset';
import { firstEndingAfter, intersect, lengthWithin, normalise, subtract, totalLength, union } from '../../marks/spans';
import { type Segment, wholeSegment } from '../../recording/recording';
import type { SampleIndex, Span } from '../../units';
import type { Session, SessionRecording } from '../session';

/**
 * What a rater has looked at. Time counts once it was shown at a readable scale; a mark counts once it was accepted,
 * edited by hand or put into an unreadable span. Where nothing was recorded there is nothing to look at.
 */

export interface Coverage {
  readonly segment: Segment;
  /** Share of time seen or of marks looked at, whichever is smaller, in [0, 1]; 1 when there is nothing to look at. */
  readonly share: number;
  readonly seenSeconds: number;
  /** Seconds of the segment with a signal. */
  readonly totalSeconds: number;
  readonly marksLookedAt: number;
  /** Reviewed and detected marks together, each place counted once. */
  readonly marksTotal: number;
  /** Stretches not yet shown at a readable scale. */
  readonly unseen: readonly Span[];
  /** Detected marks still as they came, neither accepted nor in an unreadable span. */
  readonly marksLeft: Marks;
  readonly covered: boolean;
}

/** A recording without segments is reviewed as one. */
export function segmentsUnderReview({ segments, recording }: SessionRecording): readonly Segment[] {
  return segments.length > 0 ? segments : [wholeSegment(recording)];
}

interface Remembered {
  readonly item: SessionRecording;
  readonly coverage: Map<string, Coverage>;
}

const remembered = new WeakMap<RecordingReview, Remembered>();

/** Worked out once for each state of a review: an edit asks for the same several times, and each walks along all marks. */
function once(item: SessionRecording, review: RecordingReview, key: string, make: () => Coverage): Coverage {
  let known = remembered.get(review);
  if (known?.item !== item) {
    known = { item, coverage: new Map() };
    remembered.set(review, known);
  }
  const found = known.coverage.get(key) ?? make();
  known.coverage.set(key, found);
  return found;
}

export function coverageOf(item: SessionRecording, review: RecordingReview, segment: Segment): Coverage {
  const { start, end, name } = segment;
  return once(item, review, `${start}-${end} ${name}`, () => segmentCoverage(item, review, segment));
}

function segmentCoverage(item: SessionRecording, review: RecordingReview, segment: Segment): Coverage {
  const rateHz = item.recording.samplingRateHz;
  const toSee = subtract(intersect([segment], [wholeSegment(item.recording)]), item.recording.gaps);
  const unseen = subtract(toSee, review.seen);
  const total = totalLength(toSee);
  const seen = total - totalLength(unseen);
  const marks = marksOf(item, review, judgedSpans(item, review), segment);
  const marksLookedAt = marks.total - marks.left.length;
  return {
    segment,
    share: Math.min(total > 0 ? seen / total : 1, marks.total > 0 ? marksLookedAt / marks.total : 1),
    seenSeconds: seen / rateHz,
    totalSeconds: total / rateHz,
    marksLookedAt,
    marksTotal: marks.total,
    unseen,
    marksLeft: marks.left,
    covered: unseen.length === 0 && marks.left.length === 0,
  };
}

/**
 * The pieces of a segment that were looked at: shown, and cut at every mark not looked at, so that no interval from or to
 * such a mark is inside a piece; what lies in `open` is left out. A gap belongs to a piece beside it that was shown.
 */
export function coveredPieces(
  item: SessionRecording,
  review: RecordingReview,
  segment: Segment,
  open: readonly Span[] = [],
): Span[] {
  const { unseen, marksLeft } = coverageOf(item, review, segment);
  const seen = subtract(intersect([segment], [wholeSegment(item.recording)]), [...unseen, ...open]);
  const gaps = normalise(item.recording.gaps);
  const pieces = seen.flatMap(span => cutAt(span, between(marksLeft, span.start, span.end)));
  if (gaps.length === 0) return pieces;
  return pieces.filter(piece => lengthWithin(gaps, piece) < piece.end - piece.start);
}

/** What is left of a span without these marks of it. */
function cutAt(span: Span, marks: Marks): Span[] {
  const out: Span[] = [];
  let start: number = span.start;
  for (const mark of marks) {
    if (mark > start) out.push({ start: start as SampleIndex, end: mark as SampleIndex });
    start = mark + 1;
  }
  if (start < span.end) out.push({ start: start as SampleIndex, end: span.end });
  return out;
}

/** The segments of a recording taken together; overlaps count in each. */
export function coverageOfAll(item: SessionRecording, review: RecordingReview): Coverage {
  const segments = segmentsUnderReview(item);
  if (segments.length === 1) return coverageOf(item, review, segments[0]!);
  const whole = () => joinedCoverage(segments.map(s => coverageOf(item, review, s)));
  return once(item, review, 'all', whole);
}

function joinedCoverage(parts: readonly Coverage[]): Coverage {
  const add = (pick: (c: Coverage) => number) => parts.reduce((sum, c) => sum + pick(c), 0);
  const seenSeconds = add(c => c.seenSeconds);
  const totalSeconds = add(c => c.totalSeconds);
  const marksLookedAt = add(c => c.marksLookedAt);
  const marksTotal = add(c => c.marksTotal);
  const covered = parts.every(c => c.covered);
  const shares = [totalSeconds > 0 ? seenSeconds / totalSeconds : 1, marksTotal > 0 ? marksLookedAt / marksTotal : 1];
  return {
    segment: {
      name: 'all segments',
      start: parts[0]!.segment.start,
      end: Math.max(...parts.map(c => c.segment.end)) as SampleIndex,
    },
    share: covered ? 1 : Math.min(...shares),
    seenSeconds,
    totalSeconds,
    marksLookedAt,
    marksTotal,
    unseen: normalise(parts.flatMap(c => c.unseen)),
    marksLeft: joinedMarks(parts.map(c => c.marksLeft)),
    covered,
  };
}

/** All marks of several lists, each once. */
function joinedMarks(lists: readonly Marks[]): Marks {
  const out = new Int32Array(lists.reduce((n, list) => n + list.length, 0));
  let n = 0;
  let inOrder = true;
  for (const list of lists) {
    if (list.length === 0) continue;
    if (n > 0 && list[0]! <= out[n - 1]!) inOrder = false;
    out.set(list, n);
    n += list.length;
  }
  return inOrder ? out : marksFrom(out);
}

/**
 * Indices of those of `spans`, in order of time and apart, that were seen in full and have no mark left to look at. Costs
 * little where most were not seen, or begin at one of `known`, which are left out.
 */
export function coveredAmong(
  item: SessionRecording,
  review: RecordingReview,
  spans: readonly Span[],
  known: ReadonlySet<number>,
): number[] {
  const toSee = subtract([wholeSegment(item.recording)], item.recording.gaps);
  const unseen = subtract(toSee, review.seen);
  const judged = judgedSpans(item, review);
  const covered: number[] = [];
  for (const { start, end } of subtract([{ start: 0, end: spans.at(-1)?.end ?? 0 } as Span], unseen)) {
    for (let i = firstStartingAt(spans, start); i < spans.length && spans[i]!.end <= end; i++) {
      const s = spans[i]!;
      if (!known.has(s.start) && marksIn(item.detected, review.marks, judged, s).left.length === 0) covered.push(i);
    }
  }
  return covered;
}

/** Index of the first of sorted spans that starts at `sample` or after. */
function firstStartingAt(spans: readonly Span[], sample: number): number {
  let low = 0;
  let high = spans.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (spans[middle]!.start < sample) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Where the marks need no more looking at. */
function judgedSpans({ recording }: SessionRecording, { accepted, unreadable }: RecordingReview): readonly Span[] {
  // A review's own lists are normalised.
  if (unreadable.length === 0 && recording.gaps.length === 0) return accepted;
  return union(union(accepted, unreadable), recording.gaps);
}

interface MarksHere {
  /** Reviewed and detected marks together, each place counted once. */
  readonly total: number;
  /** Detected marks still as they came that wait to be looked at. */
  readonly left: Marks;
}

interface MarksThen extends MarksHere {
  readonly reviewed: Marks;
  readonly judged: readonly Span[];
}

/** What was last found in a segment: of the next state of the review only what differs needs to be gone through. */
const lastFound = new WeakMap<SessionRecording, Map<string, MarksThen>>();

/** As `marksIn`, from what was found in the same segment before. */
function marksOf(
  item: SessionRecording,
  { marks }: RecordingReview,
  judged: readonly Span[],
  segment: Segment,
): MarksHere {
  const { start, end } = segment;
  const known = lastFound.get(item) ?? new Map<string, MarksThen>();
  lastFound.set(item, known);
  const key = `${start}-${end}`;
  const then = known.get(key);
  const now = then
    ? marksAfter(item.detected, then, marks, judged, segment)
    : marksIn(item.detected, marks, judged, segment);
  known.set(key, { ...now, reviewed: marks, judged });
  return now;
}

function marksAfter(
  detected: Marks,
  then: MarksThen,
  reviewed: Marks,
  judged: readonly Span[],
  { start, end }: Span,
): MarksHere {
  const here = (marks: Marks) => between(marks, start, end);
  const changed = normalise([changedMarks(here(then.reviewed), here(reviewed)), changedSpans(then.judged, judged)]);
  const within = intersect(changed, [{ start, end }]);
  let { total, left } = then;
  for (const span of within) {
    const before = marksIn(detected, then.reviewed, then.judged, span);
    const after = marksIn(detected, reviewed, judged, span);
    total += after.total - before.total;
    left = exchanged(left, span, after.left);
  }
  return { total, left };
}

/** The samples in which two sets of marks differ. */
function changedMarks(a: Marks, b: Marks): Span {
  const { from, to } = differing(a, b);
  const first = from > 0 ? a[from - 1]! + 1 : 0;
  const end = to < a.length ? a[to]! : Number.POSITIVE_INFINITY;
  return { start: first, end } as Span;
}

/** The samples in which two normalised lists of spans differ. */
function changedSpans(a: readonly Span[], b: readonly Span[]): Span {
  const same = (i: number, j: number) => a[i]!.start === b[j]!.start && a[i]!.end === b[j]!.end;
  const shorter = Math.min(a.length, b.length);
  let from = 0;
  while (from < shorter && same(from, from)) from++;
  if (from === a.length && from === b.length) return { start: 0, end: 0 } as Span;
  let to = a.length;
  for (let other = b.length; to > from && other > from && same(to - 1, other - 1); other--) to--;
  const first = from > 0 ? a[from - 1]!.end : 0;
  const end = to < a.length ? a[to]!.start : Number.POSITIVE_INFINITY;
  return { start: first, end } as Span;
}

/** A list with `part` in the place of what it had in a span; the very list where that is the same. */
function exchanged(list: Marks, { start, end }: Span, part: Marks): Marks {
  const from = lowerBound(list, start);
  const to = lowerBound(list, end);
  if (to - from === part.length && part.every((mark, i) => list[from + i] === mark)) return list;
  const out = new Int32Array(list.length - (to - from) + part.length);
  out.set(list.subarray(0, from));
  out.set(part, from);
  out.set(list.subarray(to), from + part.length);
  return out;
}

/** The marks of a stretch, and those of them that wait to be looked at. */
function marksIn(allDetected: Marks, allReviewed: Marks, judged: readonly Span[], { start, end }: Span): MarksHere {
  const detected = between(allDetected, start, end);
  const reviewed = between(allReviewed, start, end);
  const left = new Int32Array(detected.length);
  let n = 0;
  let both = 0;
  let k = firstEndingAfter(judged, start);
  for (let i = 0, j = 0; i < detected.length; i++) {
    const mark = detected[i]!;
    while (j < reviewed.length && reviewed[j]! < mark) j++;
    if (j === reviewed.length) break;
    if (reviewed[j]! > mark) continue;
    both++;
    j++;
    while (k < judged.length && judged[k]!.end <= mark) k++;
    if (k === judged.length || mark < judged[k]!.start) left[n++] = mark;
  }
  return { total: detected.length + reviewed.length - both, left: left.subarray(0, n) };
}

/**
 * First sample at or after `from` that is still unseen or holds a mark left; goes round to the start; null when all is
 * done. What is on the screen now (`shown`) counts as seen; its marks do not count as looked at.
 */
export function nextUnseen(
  item: SessionRecording,
  review: RecordingReview,
  from: number,
  shown: Span | null = null,
): SampleIndex | null {
  const seen = shown ? { ...review, seen: union(review.seen, [shown]) } : review;
  const parts = segmentsUnderReview(item).map(s => coverageOf(item, seen, s));
  return firstLeft(parts, from) ?? firstLeft(parts, 0);
}

function firstLeft(parts: readonly Coverage[], from: number): SampleIndex | null {
  let first = Number.POSITIVE_INFINITY;
  for (const { unseen, marksLeft } of parts) {
    const stretch = unseen[firstEndingAfter(unseen, from)];
    if (stretch) first = Math.min(first, Math.max(from, stretch.start));
    first = Math.min(first, marksLeft[lowerBound(marksLeft, from)] ?? first);
  }
  return Number.isFinite(first) ? (first as SampleIndex) : null;
}

export type SignOffCheck =
  | { readonly covered: true }
  /** `left` says in words what was not looked at: signing off needs a written reason. */
  | { readonly covered: false; readonly left: string };

export function maySignOff(item: SessionRecording, review: RecordingReview, segment: Segment): SignOffCheck {
  const c = coverageOf(item, review, segment);
  if (c.covered) return { covered: true };
  const parts: string[] = [];
  if (c.unseen.length > 0) parts.push(`${tenthsUp(c.totalSeconds - c.seenSeconds)} s not seen`);
  const n = c.marksLeft.length;
  if (n > 0) parts.push(`${n} ${n === 1 ? 'mark' : 'marks'} not looked at`);
  return { covered: false, left: parts.join(' and ') };
}

/** Rounds up, so that something left never reads as nothing. */
function tenthsUp(seconds: number): string {
  return (Math.ceil(seconds * 10 - 1e-6) / 10).toFixed(1);
}

/** The segments that still wait for a sign-off before the whole review can be finished. */
export function openSegments(
  session: Session,
  reviews: ReadonlyMap<string, RecordingReview>,
): { readonly recording: string; readonly segment: Segment }[] {
  return session.recordings.flatMap(item => {
    const signed = new Set(reviews.get(item.recording.id)?.signOffs.map(s => s.segment));
    return segmentsUnderReview(item)
      .filter(segment => !signed.has(segment.name))
      .map(segment => ({ recording: item.recording.id, segment }));
  });
}
