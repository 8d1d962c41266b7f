import type { Change, Note, Operation, RecordingReview, SpanList } from '../marks/edit';
import { spanOperation } from '../marks/edit';
import { between, has, lowerBound } from '../marks/markset';
import { covers, include, intersect, normalise, subtract, union } from '../marks/spans';
import { type Segment, wholeSegment } from '../recording/recording';
import type { SampleIndex, Span } from '../units';
import type { SessionRecording } from './session';
import { maySignOff, segmentsUnderReview } from './standing/coverage';

/** One recording in a rater's hands: what an act is checked against. */
export interface Editing {
  readonly item: SessionRecording;
  readonly review: RecordingReview;
  /** The whole review was finished (see Replayed). */
  readonly finished: boolean;
}

/** Why an act was not done, as a sentence for the rater. */
export interface Refusal {
  readonly refused: string;
}

/** What an act comes to: a change to append, a refusal, or null when nothing would be different. */
export type Built = Change | Refusal | null;

export function isRefusal(built: Built): built is Refusal {
  return built !== null && 'refused' in built;
}

/** Judges the mark at `at` right. */
export function acceptMark(editing: Editing, at: SampleIndex): Built {
  return refuse(editing, [at]) ?? noMark(editing, at) ?? changes(accepting(editing.review, at));
}

/** Judges every mark in the spans right, e.g. of the page shown. Leaves out what is in signed-off segments. */
export function acceptSpan(editing: Editing, ...spans: readonly Span[]): Built {
  const open = subtract(intersect(spans, [wholeSegment(editing.item.recording)]), signedOff(editing));
  const starts = spans.map(s => s.start);
  if (open.length === 0) return refuse(editing, starts);
  return refuse(editing, []) ?? changes(spanChange(editing.review, 'accepted', union(editing.review.accepted, open)));
}

/** Moves a mark. Its new place counts as accepted. */
export function moveMark(editing: Editing, from: SampleIndex, to: SampleIndex): Built {
  const { review } = editing;
  const refusal = refuse(editing, [from, to]) ?? noMark(editing, from);
  if (refusal) return refusal;
  if (from === to) return null;
  if (has(review.marks, to)) return { refused: 'Another mark is already there.' };
  const rhythm: Operation[] = has(review.notSinus, from) && !has(review.notSinus, to) ? [notSinus([from], [to])] : [];
  const open = [uncheck(editing, around(editing, from, to))];
  return changes({ op: 'marks', removed: [from], added: [to] }, ...rhythm, ...open, accepting(review, to, from));
}

export function deleteMark(editing: Editing, at: SampleIndex): Built {
  const rhythm = has(editing.review.notSinus, at) ? [notSinus([at], [])] : [];
  const open = [uncheck(editing, around(editing, at))];
  return (
    refuse(editing, [at]) ??
    noMark(editing, at) ??
    changes({ op: 'marks', removed: [at], added: [] }, ...rhythm, ...open)
  );
}

/** Marks a beat as not sinus, or takes that back. Its mark stays: it is a real beat. */
export function toggleNotSinus(editing: Editing, at: SampleIndex): Built {
  const refusal = refuse(editing, [at]);
  if (refusal) return refusal;
  if (has(editing.review.notSinus, at)) return [notSinus([at], [])];
  return noMark(editing, at) ?? [notSinus([], [at])];
}

/** Marks proposed beats as not sinus; those that are marked so already, or have no mark any more, stay as they are. */
export function confirmNotSinus(editing: Editing, beats: readonly SampleIndex[], proposedBy: string): Built {
  const { review } = editing;
  const added = beats.filter(at => has(review.marks, at) && !has(review.notSinus, at));
  if (added.length === 0) return null;
  return refuse(editing, added) ?? [{ ...notSinus([], added), proposedBy } as Operation];
}

/** What a proposed beat that is sinus after all is set aside under. */
export const asidePlace = 'not sinus';

/** Sets proposed beats aside: looked at, and sinus after all. */
export function setAsideNotSinus(editing: Editing, beats: readonly SampleIndex[]): Built {
  const known = new Set(editing.review.dismissals.filter(d => d.reason === asidePlace).map(d => d.at));
  const fresh = beats.filter(at => !known.has(at));
  if (fresh.length === 0) return null;
  return (
    refuse(editing, fresh) ??
    fresh.map((at): Operation => ({ op: 'dismissal', before: null, after: { reason: asidePlace, at } }))
  );
}

/** Notes that the rater went through all beats proposed as not sinus in a recording. Marks nothing; null when noted already. */
export function confirmRhythm(editing: Editing, proposedBy: string): Built {
  const whole = [wholeSegment(editing.item.recording)];
  const change = changes(spanChange(editing.review, 'rhythmChecked', union(editing.review.rhythmChecked, whole)));
  return refuse(editing, []) ?? change?.map(o => ({ ...o, proposedBy }) as Operation) ?? null;
}

/** An edit changes what the beats this near look and come like, in s: there the list of not-sinus beats is open again. */
const recheckS = 3;

function around({ item, review }: Editing, ...places: readonly SampleIndex[]): readonly Span[] {
  if (review.rhythmChecked.length === 0) return [];
  const reach = Math.round(recheckS * item.recording.samplingRateHz);
  const spans = places.map(at => ({ start: Math.max(0, at - reach) as SampleIndex, end: (at + reach) as SampleIndex }));
  return normalise(spans);
}

function uncheck({ review }: Editing, spans: readonly Span[]): Operation {
  return spanChange(review, 'rhythmChecked', subtract(review.rhythmChecked, spans));
}

function notSinus(removed: readonly SampleIndex[], added: readonly SampleIndex[]): Operation {
  return { op: 'notSinus', removed, added };
}

/**
 * Places a new mark; it counts as accepted. `asked` is where the rater pointed when the mark was put on an apex nearby:
 * as with a move, neither place may be in a signed-off segment.
 */
export function insertMark(editing: Editing, at: SampleIndex, asked = at): Built {
  const refusal = refuse(editing, [asked, at]);
  if (refusal) return refusal;
  if (has(editing.review.marks, at)) return { refused: 'A mark is already there.' };
  const open = uncheck(editing, around(editing, at));
  return changes({ op: 'marks', removed: [], added: [at] }, open, accepting(editing.review, at));
}

/** Places several new marks as one act, e.g. all beats missing in a gap; each counts as accepted. */
export function insertMarks(editing: Editing, places: readonly SampleIndex[]): Built {
  const { review } = editing;
  const refusal = refuse(editing, places);
  if (refusal) return refusal;
  const added = places.filter(at => !has(review.marks, at));
  if (added.length === 0) return { refused: 'Marks are already there.' };
  const point = (at: SampleIndex): Span => ({ start: at, end: (at + 1) as SampleIndex });
  const accepted = added.reduce((spans: readonly Span[], at) => include(spans, point(at)), review.accepted);
  const open = uncheck(editing, around(editing, ...added));
  return changes({ op: 'marks', removed: [], added }, open, spanChange(review, 'accepted', accepted));
}

/** Marks a stretch in which the beats cannot be made out. The part outside the recording is left off. */
export function addUnreadable(editing: Editing, span: Span): Built {
  return changeUnreadable(editing, span, union);
}

/** Cuts a stretch out of the unreadable spans: the beats can be made out there after all. */
export function removeUnreadable(editing: Editing, span: Span): Built {
  return changeUnreadable(editing, span, subtract);
}

function changeUnreadable(
  editing: Editing,
  span: Span,
  combine: (a: readonly Span[], b: readonly Span[]) => Span[],
): Built {
  if (span.end <= span.start) return refuse(editing, []) ?? null;
  const { review, item } = editing;
  const inside = intersect([span], [wholeSegment(item.recording)]);
  if (inside.length === 0) return refuse(editing, [span.start]);
  const after = combine(review.unreadable, inside);
  // What becomes readable has beats that nobody went through.
  const fresh = subtract(review.unreadable, after);
  const change = changes(spanChange(review, 'unreadable', after), uncheck(editing, fresh));
  return refuse(editing, []) ?? (change && frozen(editing, inside)) ?? change;
}

/** Notes that the spans were shown at a readable scale. Never refused: looking is no edit; null when it adds nothing. */
export function look(editing: Editing, ...spans: readonly Span[]): Change | null {
  if (editing.finished) return null;
  const fresh = subtract(intersect(spans, [wholeSegment(editing.item.recording)]), signedOff(editing));
  return changes(spanChange(editing.review, 'seen', union(editing.review.seen, fresh)));
}

/** An id no note of this review has. */
export function nextNoteId(review: RecordingReview): string {
  const numbers = review.notes.map(n => Number(/^n(\d+)$/.exec(n.id)?.[1] ?? 0));
  return `n${Math.max(0, ...numbers) + 1}`;
}

/** Adds a comment or a flag at a stretch or, with start = end, at a point. A comment needs words, a flag may go without. */
export function addNote(editing: Editing, note: Note): Built {
  const refusal = refuse(editing, [note.start]) ?? wordless(note);
  if (refusal) return refusal;
  if (note.end < note.start) return { refused: 'A remark cannot end before it starts.' };
  if (editing.review.notes.some(n => n.id === note.id)) return { refused: `There is already a remark ${note.id}.` };
  return [{ op: 'note', before: null, after: { ...note, text: note.text.trim() } }];
}

export function editNote(editing: Editing, id: string, text: string): Built {
  return onNote(editing, id, before => {
    const after = { ...before, text: text.trim() };
    return wordless(after) ?? (after.text === before.text ? null : [{ op: 'note', before, after }]);
  });
}

export function removeNote(editing: Editing, id: string): Built {
  return onNote(editing, id, before => [{ op: 'note', before, after: null }]);
}

function onNote(editing: Editing, id: string, build: (note: Note) => Built): Built {
  const note = editing.review.notes.find(n => n.id === id);
  if (!note) return { refused: 'That remark is not there any more.' };
  return refuse(editing, [note.start]) ?? build(note);
}

function wordless(note: Note): Refusal | null {
  return note.kind === 'comment' && note.text.trim() === '' ? { refused: 'A comment needs some words.' } : null;
}

/** Sets a suspicion aside: looked at, and found to be no mistake. */
export function dismiss(editing: Editing, reason: string, at: SampleIndex): Built {
  const refusal = refuse(editing, [at]);
  if (refusal) return refusal;
  if (editing.review.dismissals.some(d => d.reason === reason && d.at === at)) return null;
  return [{ op: 'dismissal', before: null, after: { reason, at } }];
}

/** Declares a segment reviewed at the time `at` (ISO 8601, UTC). One not fully looked at needs a written reason. */
export function signOff(editing: Editing, name: string, at: string, reason: string | null): Built {
  const { item, review } = editing;
  const segment = segmentsUnderReview(item).find(s => s.name === name);
  const refusal = refuse(editing, []);
  if (refusal) return refusal;
  if (!segment) return { refused: `This recording has no segment ${name}.` };
  if (review.signOffs.some(s => s.segment === name)) return null;
  const check = maySignOff(item, review, segment);
  const words = reason?.trim() ? reason.trim() : null;
  if (!check.covered && words === null) {
    return { refused: `${name} is not fully looked at (${check.left}): look at the rest or give a reason.` };
  }
  return [{ op: 'signOff', before: null, after: { segment: name, at, reason: words } }];
}

/** Opens a signed-off segment again. The reason belongs into the log entry; without one it is refused. */
export function reopen(editing: Editing, name: string, reason: string): Built {
  const before = editing.review.signOffs.find(s => s.segment === name);
  const refusal = refuse(editing, []);
  if (refusal) return refusal;
  if (!before) return { refused: `${name} is not signed off.` };
  if (reason.trim() === '') return { refused: 'Reopening a segment needs a reason.' };
  return [{ op: 'signOff', before, after: null }];
}

/**
 * Why a change made earlier, such as one that undo or redo would bring, may not be applied now: the review is finished,
 * or the change reaches into a segment signed off since. Null when it may.
 */
export function refuseChange(editing: Editing, change: Change): Refusal | null {
  const touched = change.flatMap(o => touches(editing.review, o));
  return refuse(editing, []) ?? frozen(editing, touched);
}

/** Where a change alters marks or unreadable spans; single marks as spans of one sample. */
export function alteredSpans(review: RecordingReview, change: Change): Span[] {
  return change.filter(o => o.op === 'marks' || o.op === 'unreadable').flatMap(o => touches(review, o));
}

function touches(review: RecordingReview, o: Operation): Span[] {
  const point = (at: SampleIndex): Span => ({ start: at, end: (at + 1) as SampleIndex });
  switch (o.op) {
    case 'marks':
      return [...o.removed, ...o.added].map(point);
    case 'unreadable':
      return difference(o.removed, o.added);
    case 'accepted':
      // Only at marks does acceptance say anything; between them the span may run on into the next segment.
      return difference(o.removed, o.added).flatMap(s =>
        [...between(review.marks, s.start, s.end)].map(m => point(m as SampleIndex)),
      );
    case 'note':
      return [o.before, o.after].filter(n => n !== null).map(n => point(n.start));
    case 'dismissal':
    case 'settlement':
    case 'spotCheck':
      return [o.before, o.after].filter(d => d !== null).map(d => point(d.at));
    case 'notSinus':
      return [...o.removed, ...o.added].map(point);
    case 'seen':
    case 'rhythmChecked':
    case 'signOff':
    case 'hint':
    case 'samplePlan':
    case 'sampled':
      return [];
  }
}

function difference(a: readonly Span[], b: readonly Span[]): Span[] {
  return [...subtract(a, b), ...subtract(b, a)];
}

function signedOff({ item, review }: Editing): readonly Segment[] {
  if (review.signOffs.length === 0) return [];
  return segmentsUnderReview(item).filter(s => review.signOffs.some(o => o.segment === s.name));
}

/** The refusals common to all acts: a finished review, a place outside the recording, a signed-off segment. */
function refuse(editing: Editing, places: readonly SampleIndex[]): Refusal | null {
  if (editing.finished) return { refused: 'This review is finished: reopen it to change anything.' };
  if (places.some(p => p < 0 || p >= editing.item.recording.sampleCount)) {
    return { refused: 'That place is outside the recording.' };
  }
  return frozen(
    editing,
    places.map(p => ({ start: p, end: (p + 1) as SampleIndex })),
  );
}

function frozen(editing: Editing, spans: readonly Span[]): Refusal | null {
  const hit = signedOff(editing).find(s => spans.some(x => x.start < s.end && x.end > s.start));
  return hit ? { refused: `${hit.name} is signed off: reopen it to change anything there.` } : null;
}

function noMark({ review }: Editing, at: SampleIndex): Refusal | null {
  return has(review.marks, at) ? null : { refused: 'There is no mark at that place.' };
}

function changes(...operations: Operation[]): Change | null {
  const real = operations.filter(o => !('removed' in o) || o.removed.length > 0 || o.added.length > 0);
  return real.length > 0 ? real : null;
}

function spanChange(review: RecordingReview, list: SpanList, after: readonly Span[]): Operation {
  return spanOperation(list, review[list], after);
}

/**
 * Adds the place of one mark to the accepted spans. Where the mark before or after is accepted too, the span is drawn
 * through to it: no mark lies between, and a review done mark by mark keeps one long span and not thousands.
 */
function accepting(review: RecordingReview, at: SampleIndex, leaving = -1): Operation {
  const { marks, accepted } = review;
  if (covers(accepted, at)) return spanOperation('accepted', accepted, accepted);
  let i = lowerBound(marks, at) - 1;
  if (marks[i] === leaving) i--;
  let j = lowerBound(marks, at + 1);
  if (marks[j] === leaving) j++;
  const before = marks[i];
  const after = marks[j];
  const start = before !== undefined && covers(accepted, before) ? before : at;
  const end = after !== undefined && covers(accepted, after) ? after + 1 : at + 1;
  const drawn = { start: start as SampleIndex, end: end as SampleIndex };
  return spanOperation('accepted', accepted, include(accepted, drawn));
}
