import type { SampleIndex, Span } from '../units';
import { copyLists, type ItemKind, type ListChanges } from './lists';
import { type Marks, noMarks } from './markset';
import type { SampledEntry, SamplePlan } from './sampling';

/**
 * An edit is data that holds both sides, so it inverts by itself. Span lists are kept normalised; a span operation
 * names whole spans of the list before and after, never a fragment.
 */

/**
 * A remark at a place. `flag` marks a place for the study's incidental-findings procedure and says no more about it;
 * `evidence` says that the trace of another recorder served as evidence there.
 */
export interface Note {
  readonly id: string;
  /** `not sinus` points to a beat; such remarks come from logs of version 1 only, later ones mark the beat itself. */
  readonly kind: 'comment' | 'flag' | 'evidence' | 'not sinus';
  readonly start: SampleIndex;
  readonly end: SampleIndex;
  readonly text: string;
  /** The other recorder, where it served as evidence. */
  readonly recorder?: string;
}

/** A suspicion the rater looked at and set aside. */
export interface Dismissal {
  /** Name of the suspicion, e.g. 'long interval'. */
  readonly reason: string;
  readonly at: SampleIndex;
}

/** How a difference of two raters was settled. Kind and place name the difference. */
export interface Settlement {
  readonly kind: 'only A' | 'only B' | 'placed apart' | 'span differs';
  readonly at: SampleIndex;
  /** Whose answer stands there now; 'new' for one that the supervisor placed. */
  readonly take: 'A' | 'B' | 'new';
}

/** What looking at a stretch of a spot check once more came to. */
export interface SpotCheck {
  /** Start of the stretch. */
  readonly at: SampleIndex;
  readonly outcome: 'confirmed' | 'changed';
}

/** A hint that a learner took. */
export interface Hint {
  /** Start of the place it was about. */
  readonly at: SampleIndex;
  /** How far it went: to the stretch, the place, or what gives it away; absent for one that showed all at once. */
  readonly step?: 1 | 2 | 3;
}

/** A segment of one recording declared reviewed. `reason` is given when it was not fully covered. */
export interface SignOff {
  readonly segment: string;
  readonly at: string;
  readonly reason: string | null;
}

interface Swap<Op extends string, T> {
  readonly op: Op;
  readonly before: T | null;
  readonly after: T | null;
}

interface Exchange<Op extends string, T> {
  readonly op: Op;
  readonly removed: readonly T[];
  readonly added: readonly T[];
  /** What proposed it, where the rater confirmed a proposal: name and version. */
  readonly proposedBy?: string;
}

export type Operation =
  | Exchange<'marks', SampleIndex>
  | Exchange<'notSinus', SampleIndex>
  | Exchange<SpanList, Span>
  | Swap<'note', Note>
  | Swap<'dismissal', Dismissal>
  | Swap<'signOff', SignOff>
  | Swap<'settlement', Settlement>
  | Swap<'spotCheck', SpotCheck>
  | Swap<'hint', Hint>
  | Swap<'samplePlan', SamplePlan>
  | Swap<'sampled', SampledEntry>;

/**
 * `accepted`: marks in it were judged right by the rater. `seen`: shown to the rater at a readable scale.
 * `rhythmChecked`: the rater went through the beats proposed as not sinus in it.
 */
export type SpanList = 'unreadable' | 'accepted' | 'seen' | 'rhythmChecked';

export type Change = readonly Operation[];

/** One recording as one rater has it after replaying their log. Immutable; every list sorted. */
export interface RecordingReview {
  readonly marks: Marks;
  readonly unreadable: readonly Span[];
  readonly accepted: readonly Span[];
  readonly seen: readonly Span[];
  readonly rhythmChecked: readonly Span[];
  readonly notes: readonly Note[];
  readonly dismissals: readonly Dismissal[];
  readonly signOffs: readonly SignOff[];
  readonly settlements: readonly Settlement[];
  readonly spotChecks: readonly SpotCheck[];
  readonly hints: readonly Hint[];
  /** Beats marked as not sinus; one that was moved since lies beside its beat (see core/report/non-sinus.ts). */
  readonly notSinus: Marks;
  /** One for each segment that is sampled, or one for all of them together. */
  readonly samplePlans: readonly SamplePlan[];
  /** By place: in the order in which they were reviewed. */
  readonly sampled: readonly SampledEntry[];
}

export function startReview(detected: Marks): RecordingReview {
  return {
    marks: detected,
    unreadable: [],
    accepted: [],
    seen: [],
    rhythmChecked: [],
    notes: [],
    dismissals: [],
    signOffs: [],
    settlements: [],
    spotChecks: [],
    hints: [],
    notSinus: noMarks,
    samplePlans: [],
    sampled: [],
  };
}

/** The change that takes back `change`: applying one after the other gives the state before. */
export function invert(change: Change): Change {
  return [...change].reverse().map(inverse);
}

function inverse(o: Operation): Operation {
  if ('removed' in o) return { op: o.op, removed: o.added, added: o.removed } as Operation;
  return { op: o.op, before: o.after, after: o.before } as Operation;
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

const kinds = {
  note: { list: 'notes', key: (n: Note) => n.id, position: (n: Note) => n.start },
  dismissal: { list: 'dismissals', key: (d: Dismissal) => `${d.reason}@${d.at}`, position: (d: Dismissal) => d.at },
  signOff: { list: 'signOffs', key: (s: SignOff) => s.segment, position: () => 0 },
  settlement: {
    list: 'settlements',
    key: (s: Settlement) => `${s.kind} ${s.take}@${s.at}`,
    position: (s: Settlement) => s.at,
  },
  spotCheck: { list: 'spotChecks', key: (s: SpotCheck) => `${s.outcome}@${s.at}`, position: (s: SpotCheck) => s.at },
  hint: { list: 'hints', key: (h: Hint) => `hint@${h.at}`, position: (h: Hint) => h.at },
  samplePlan: { list: 'samplePlans', key: (p: SamplePlan) => p.segment ?? '', position: () => 0 },
  sampled: { list: 'sampled', key: (e: SampledEntry) => `${e.start}-${e.end}`, position: (e: SampledEntry) => e.place },
} as const;

function applyOne(review: RecordingReview, o: Operation, lists: ListChanges): RecordingReview {
  switch (o.op) {
    case 'marks':
    case 'notSinus':
      return { ...review, [o.op]: lists.marks(review[o.op], o.removed, o.added) };
    case 'unreadable':
    case 'accepted':
    case 'seen':
    case 'rhythmChecked':
      return { ...review, [o.op]: lists.spans(review[o.op], o.removed, o.added) };
    default: {
      const { list, ...kind } = kinds[o.op];
      // Operation and list are of one kind, which the compiler cannot follow through the table.
      const items = lists.items(review[list] as readonly unknown[], o.before, o.after, kind as ItemKind<unknown>);
      return { ...review, [list]: items };
    }
  }
}
