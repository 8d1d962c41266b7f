import type { SampleIndex, Span } from '../units';
import { copyLists, type ItemKind, type ListChanges } from './lists';
import type { Marks } from './markset';
import type { SampledEntry, SamplePlan } from './sampling';

/**
 * An edit is data that holds both sides, so it inverts by itself. Span lists are kept normalised; a span operation
 * names whole spans of the list before and after, never a fragment.
 */

/** A remark at a place. `flag` marks a place for the study's incidental-findings procedure and says no more about it. */
export interface Note {
  readonly id: string;
  readonly kind: 'comment' | 'flag';
  readonly start: SampleIndex;
  readonly end: SampleIndex;
  readonly text: string;
}

/** A suspicion the rater looked at and set aside. */
export interface Dismissal {
  readonly reason: string;
  readonly at: SampleIndex;
}

/** A segment of one recording declared reviewed. `reason` is given when it was not fully covered. */
export interface SignOff {
  readonly segment: string;
  readonly at: string;
  readonly reason: string | null;
}

export type Operation =
  | { readonly op: 'marks'; readonly removed: readonly SampleIndex[]; readonly added: readonly SampleIndex[] }
  | { readonly op: SpanList; readonly removed: readonly Span[]; readonly added: readonly Span[] }
  | { readonly op: 'note'; readonly before: Note | null; readonly after: Note | null }
  | { readonly op: 'dismissal'; readonly before: Dismissal | null; readonly after: Dismissal | null }
  | { readonly op: 'signOff'; readonly before: SignOff | null; readonly after: SignOff | null }
  | { readonly op: 'samplePlan'; readonly before: SamplePlan | null; readonly after: SamplePlan | null }
  | { readonly op: 'sampled'; readonly before: SampledEntry | null; readonly after: SampledEntry | null };

/** `accepted`: marks in it were judged right by the rater. `seen`: shown to the rater at a readable scale. */
export type SpanList = 'unreadable' | 'accepted' | 'seen';

export type Change = readonly Operation[];

/** One recording as one rater has it after replaying their log. Immutable; every list sorted. */
export interface RecordingReview {
  readonly marks: Marks;
  readonly unreadable: readonly Span[];
  readonly accepted: readonly Span[];
  readonly seen: readonly Span[];
  readonly notes: readonly Note[];
  readonly dismissals: readonly Dismissal[];
  readonly signOffs: readonly SignOff[];
  /** One for each segment that is sampled, or one for all of them together. */
  readonly samplePlans: readonly SamplePlan[];
  /** By place: in the order in which they were reviewed. */
  readonly sampled: readonly SampledEntry[];
}

export function startReview(detected: Marks): RecordingReview {
  const lists = { unreadable: [], accepted: [], seen: [], notes: [], dismissals: [], signOffs: [] };
  return { marks: detected, ...lists, samplePlans: [], sampled: [] };
}

/** The change that takes back `change`: applying one after the other gives the state before. */
export function invert(change: Change): Change {
  return [...change].reverse().map(o => {
    if (o.op === 'note') return { op: o.op, before: o.after, after: o.before };
    if (o.op === 'dismissal') return { op: o.op, before: o.after, after: o.before };
    if (o.op === 'signOff') return { op: o.op, before: o.after, after: o.before };
    if (o.op === 'samplePlan') return { op: o.op, before: o.after, after: o.before };
    if (o.op === 'sampled') return { op: o.op, before: o.after, after: o.before };
    if (o.op === 'marks') return { op: o.op, removed: o.added, added: o.removed };
    return { op: o.op, removed: o.added, added: o.removed };
  });
}

/**
 * Applies a change. One that does not fit the state is a bug or a damaged log: it throws a RangeError saying where.
 * `lists` says whether the review's lists are copied or changed in place.
 */
export function apply(review: RecordingReview, change: Change, lists: ListChanges = copyLists): RecordingReview {
  return change.reduce((before, operation) => applyOne(before, operation, lists), review);
}

/** The operation that turns one normalised span list into another. */
export function spanOperation(op: SpanList, before: readonly Span[], after: readonly Span[]): Operation {
  const removed: Span[] = [];
  const added: Span[] = [];
  for (let i = 0, j = 0; i < before.length || j < after.length; ) {
    const old = before[i];
    const now = after[j];
    if (old && now && old.start === now.start && old.end === now.end) {
      i++;
      j++;
    } else if (old && (!now || old.start <= now.start)) {
      removed.push(old);
      i++;
    } else {
      added.push(now!);
      j++;
    }
  }
  return { op, removed, added };
}

const noteKind: ItemKind<Note> = { key: n => n.id, position: n => n.start };
const dismissalKind: ItemKind<Dismissal> = { key: d => `${d.reason}@${d.at}`, position: d => d.at };
const signOffKind: ItemKind<SignOff> = { key: s => s.segment, position: () => 0 };
const planKind: ItemKind<SamplePlan> = { key: p => p.segment ?? '', position: () => 0 };
const sampledKind: ItemKind<SampledEntry> = { key: e => `${e.start}-${e.end}`, position: e => e.place };

function applyOne(review: RecordingReview, o: Operation, lists: ListChanges): RecordingReview {
  switch (o.op) {
    case 'marks':
      return { ...review, marks: lists.marks(review.marks, o.removed, o.added) };
    case 'unreadable':
    case 'accepted':
    case 'seen':
      return { ...review, [o.op]: lists.spans(review[o.op], o.removed, o.added) };
    case 'note':
      return { ...review, notes: lists.items(review.notes, o.before, o.after, noteKind) };
    case 'dismissal':
      return { ...review, dismissals: lists.items(review.dismissals, o.before, o.after, dismissalKind) };
    case 'signOff':
      return { ...review, signOffs: lists.items(review.signOffs, o.before, o.after, signOffKind) };
    case 'samplePlan':
      return { ...review, samplePlans: lists.items(review.samplePlans, o.before, o.after, planKind) };
    case 'sampled':
      return { ...review, sampled: lists.items(review.sampled, o.before, o.after, sampledKind) };
  }
}
