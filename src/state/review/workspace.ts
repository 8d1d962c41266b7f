import type { StoreApi } from 'zustand/vanilla';
import type { Change, RecordingReview } from '../../core/marks/edit';
import type { Intent, LogEntry } from '../../core/marks/log';
import { lowerBound, type Marks } from '../../core/marks/markset';
import type { SamplePlan } from '../../core/marks/sampling';
import type { Segment } from '../../core/recording/recording';
import type { Refusal } from '../../core/review/edits';
import type { ExpectedMistakes } from '../../core/review/places/expected-mistakes';
import { worthALook } from '../../core/review/places/groups';
import { mistakesLeft, type OpenPlaces, openPlaces } from '../../core/review/places/queue';
import type { RequiredPractice } from '../../core/review/required-practice';
import type { SessionRecording } from '../../core/review/session';
import { coverageOf, segmentsUnderReview } from '../../core/review/standing/coverage';
import type { RecordingScore } from '../../core/score/score';
import type { SampleIndex, Span } from '../../core/units';
import { pageSeconds, rowSeconds, rowsApart, type ViewStore } from '../stores/view-store';
import type { Occurrences } from './occurrences';
import type { Proposals } from './proposals';
import { type ReviewStore, reviewOf } from './review-store';
import { createScores } from './scores';
import type { Signals } from './signals';
import type { QueueItem, Suspicions } from './suspicions';

/** Everything that one open review needs, and nothing of any other. */
export interface ReviewWorkspace {
  readonly review: ReviewStore;
  readonly view: ViewStore;
  readonly signals: Signals;
  readonly suspicions: Suspicions;
  /** Absent where no beats are proposed as not sinus: in practice, and when two reviews are compared. */
  readonly proposals?: Proposals;
  readonly occurrences: Occurrences;
  /** 'practice' hides what would give the answer away; 'reading' shows a recording of which only a part is stored. */
  readonly purpose: 'review' | 'practice' | 'settle' | 'reading';
  readonly gate: Gate;
  /** What the session came with and its studies ask for: a copy that is handed on asks for it too. */
  readonly requiredPractice?: readonly RequiredPractice[];
  /** Whether the signal of the page that is shown is here; absent where all of it is stored. */
  readonly onScreen?: () => boolean;
  /** The only sample there may be, given with the task; planned when it is first asked for. */
  readonly givenSample?: SamplePlan;
  close(): Promise<void>;
  readonly scoreOf: (recordingId: string) => RecordingScore;
}

/** What may enter the log of an open review, beyond the rules that hold for every review. */
export interface Gate {
  /** The change as it may be appended, with what has to go along; or why not. */
  admit(recordingId: string, intent: Intent, change: Change): Change | Refusal;
  /** Stands in the entries of edits, where a review says where an answer came from. */
  readonly origin?: NonNullable<LogEntry['origin']>;
}

export const openGate: Gate = { admit: (_recordingId, _intent, change) => change };

/** The open review, if there is one. */
export type WorkspaceStore = StoreApi<{ readonly workspace: ReviewWorkspace | null }>;

/** For functions that look at whichever review is open. */
export interface HasWorkspace {
  readonly workspace: WorkspaceStore;
}

export interface Active {
  readonly item: SessionRecording;
  readonly review: RecordingReview;
  readonly rateHz: number;
  readonly caret: SampleIndex;
  /** The reviewed mark under the caret. */
  readonly selected: SampleIndex | null;
  readonly lastSample: number;
}

export function itemOf(workspace: ReviewWorkspace, recordingId: string): SessionRecording {
  const item = workspace.review.get().session.recordings.find(r => r.recording.id === recordingId);
  if (!item) throw new RangeError(`no such recording: ${recordingId}`);
  return item;
}

/** The recording the keys act on, with the caret and what is under it. */
export function active(workspace: ReviewWorkspace): Active {
  const { recordingId, caret } = workspace.view.getState();
  const item = itemOf(workspace, recordingId);
  const review = reviewOf(workspace.review.get(), recordingId);
  const under = review.marks[lowerBound(review.marks, caret)] === caret;
  return {
    item,
    review,
    rateHz: item.recording.samplingRateHz,
    caret,
    selected: under ? caret : null,
    lastSample: Math.max(0, item.recording.sampleCount - 1),
  };
}

export function scoresOf(review: ReviewStore): (recordingId: string) => RecordingScore {
  const scores = createScores();
  return recordingId => {
    const state = review.get();
    const item = state.session.recordings.find(r => r.recording.id === recordingId)!;
    return scores(item, reviewOf(state, recordingId), state.session.settings);
  };
}

/** The samples of the active recording that the page shows; of a sample's page, those in the row of the caret. */
export function pageSpan(workspace: ReviewWorkspace): Span {
  const { caret } = workspace.view.getState();
  const spans = pageSpans(workspace);
  return spans.find(s => caret >= s.start && caret < s.end) ?? spans[0]!;
}

/** All that the page shows: one span, or one for each row of a sample's page, in the order of time. */
export function pageSpans(workspace: ReviewWorkspace): readonly [Span, ...Span[]] {
  const view = workspace.view.getState();
  const { rateHz, lastSample } = active(workspace);
  const shown = (startSeconds: number, seconds: number): Span => {
    const start = Math.max(0, Math.round(startSeconds * rateHz));
    const end = Math.min(lastSample + 1, Math.round((startSeconds + seconds) * rateHz));
    return { start: start as SampleIndex, end: Math.max(start, end) as SampleIndex };
  };
  const [first, ...rest] = rowsApart(view) ?? [];
  if (!first) return [shown(view.startSeconds, pageSeconds(view, view.geometry))];
  const row = rowSeconds(view, view.geometry);
  return [shown(first.startSeconds, row), ...rest.map(r => shown(r.startSeconds, row))];
}

export function clampStart(workspace: ReviewWorkspace, startSeconds: number): number {
  const { item, rateHz } = active(workspace);
  const view = workspace.view.getState();
  const last = item.recording.sampleCount / rateHz - pageSeconds(view, view.geometry);
  return Math.max(0, Math.min(startSeconds, last));
}

/**
 * Puts the caret somewhere. In one row the strip moves under it so that the caret stays where the eye is; over several
 * rows, and on a page of a sample, it stands still and turns only when the caret leaves it.
 */
export function putCaret(workspace: ReviewWorkspace, sample: number, keepPage = false): void {
  const { rateHz, lastSample } = active(workspace);
  const view = workspace.view.getState();
  const caret = Math.max(0, Math.min(lastSample, Math.round(sample))) as SampleIndex;
  const row = rowSeconds(view, view.geometry);
  const page = row * Math.max(1, view.rows);
  if (rowsApart(view) && pageSpans(workspace).some(s => caret >= s.start && caret < s.end)) {
    workspace.view.setState({ caret });
    return;
  }
  const at = caret / rateHz;
  const was = view.caret / rateHz - view.startSeconds;
  const visible = at >= view.startSeconds && at < view.startSeconds + page;
  let startSeconds = view.startSeconds;
  if (keepPage && visible) startSeconds = view.startSeconds;
  else if (view.rows > 1) startSeconds = visible ? view.startSeconds : at - row * 0.3;
  else startSeconds = at - (was > row * 0.15 && was < row * 0.85 ? was : row * 0.4);
  workspace.view.setState({ caret, startSeconds: clampStart(workspace, startSeconds) });
}

/** The queue the rater works on: of the whole recording, or of one part of it. */
export interface CurrentQueue {
  /** Places worth a look. */
  readonly items: readonly QueueItem[];
  /** Places below the line: looking page by page finds more. */
  readonly below: readonly QueueItem[];
  /** The part in words, e.g. 'uphill run'; null for the whole recording. */
  readonly part: string | null;
}

/** The queue as shown, or `now` as the marks are this moment; only of the segment of the caret where the rater wants that. */
export function currentQueue(workspace: ReviewWorkspace, when: 'shown' | 'now'): CurrentQueue {
  const { recordingId, segmentOnly } = workspace.view.getState();
  const items = when === 'now' ? workspace.suspicions.itemsNow(recordingId) : workspace.suspicions.items(recordingId);
  if (!segmentOnly) return { ...byTheLine(items), part: null };
  const here = segmentOfCaret(workspace);
  return { ...byTheLine(here.of(items)), part: here.name ?? 'the time outside all segments' };
}

function byTheLine(items: readonly QueueItem[]) {
  return { items: items.filter(i => i.score >= worthALook), below: items.filter(i => i.score < worthALook) };
}

function segmentOfCaret(workspace: ReviewWorkspace) {
  const { item, caret } = active(workspace);
  const segments = segmentsUnderReview(item);
  const segmentOf = (at: number) => segments.find(s => at >= s.start && at < s.end);
  const here = segmentOf(caret);
  return {
    here,
    name: here?.name ?? null,
    of: (items: readonly QueueItem[]) => items.filter(i => segmentOf(i.at) === here),
  };
}

/** What the open places of a part stand for. */
export interface Outlook extends ExpectedMistakes {
  /** The part in words, e.g. 'uphill run'. */
  readonly part: string;
  /** Stretches that may be unreadable. */
  readonly hidden: number;
}

/**
 * How many mistakes may be left in the segment of the caret, or in the recording where the caret is in none. Null where
 * that is signed off: a rater has said that it is done. What is signed off is no part of the recording's number either.
 */
export function outlook(workspace: ReviewWorkspace): Outlook | null {
  const { item, review } = active(workspace);
  const items = workspace.suspicions.items(item.recording.id);
  const { here, of } = segmentOfCaret(workspace);
  const signed = new Set(review.signOffs.map(s => s.segment));
  const segments = segmentsUnderReview(item);
  const marksLeft = (segment: Segment) => coverageOf(item, review, segment).marksLeft;
  const within = (some: readonly Segment[]) => some.map(s => `${s.start}-${s.end}`).join();
  if (here) {
    if (signed.has(here.name)) return null;
    const own = partOf(items, `${within([here])} of ${within(segments)}`, () => of(items));
    return outlookOf(own, [marksLeft(here)], here.name);
  }
  const [done, rest] = [true, false].map(is => segments.filter(s => signed.has(s.name) === is));
  const open = partOf(items, `without ${within(done!)}`, () =>
    items.filter(i => !done!.some(s => i.at >= s.start && i.at < s.end)),
  );
  const part = done!.length === 0 ? 'this recording' : 'what is not signed off';
  return outlookOf(open, rest!.map(marksLeft), part);
}

/** What of a ranking lies in one part of the recording. */
interface RankedPart {
  readonly name: string;
  readonly items: number;
  readonly hidden: number;
  readonly open: OpenPlaces;
}

/** Asked after every key, of a ranking that follows a moment later and may have tens of thousands of places. */
const lastPart = new WeakMap<readonly QueueItem[], RankedPart>();

function partOf(ranking: readonly QueueItem[], name: string, choose: () => readonly QueueItem[]): RankedPart {
  const last = lastPart.get(ranking);
  if (last?.name === name) return last;
  const items = choose();
  const hidden = items.filter(i => i.reason === 'unreadable').length;
  const part = { name, items: items.length, hidden, open: openPlaces(items) };
  lastPart.set(ranking, part);
  return part;
}

/** Null where all was looked at: nothing is left that a number could be about. */
function outlookOf({ items, hidden, open }: RankedPart, marksLeft: readonly Marks[], part: string): Outlook | null {
  if (items === 0 && marksLeft.every(m => m.length === 0)) return null;
  return { ...mistakesLeft(open, marksLeft), part, hidden };
}

/** The highest-ranked suspicious place under the caret, if any: as shown, or `now` as the marks are this moment. */
export function itemAtCaret(workspace: ReviewWorkspace, when: 'shown' | 'now'): QueueItem | undefined {
  const { caret, rateHz } = active(workspace);
  const { recordingId } = workspace.view.getState();
  const items = when === 'now' ? workspace.suspicions.itemsNow(recordingId) : workspace.suspicions.items(recordingId);
  const last = foundLast.get(items);
  if (last?.caret === caret) return last.item;
  const near = rateHz * 0.15;
  const item = items.find(i => Math.abs(i.at - caret) <= near);
  foundLast.set(items, { caret, item });
  return item;
}

/** Asked several times for every key, of a list that may have tens of thousands of places. */
const foundLast = new WeakMap<readonly QueueItem[], { readonly caret: number; readonly item: QueueItem | undefined }>();
