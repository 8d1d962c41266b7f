import { between, lowerBound, nearest } from '../core/marks/markset';
import { placeWords } from '../core/review/places/place-words';
import { expectedGain } from '../core/review/places/queue';
import { coverageOf, nextUnseen, segmentsUnderReview } from '../core/review/standing/coverage';
import type { Span } from '../core/units';
import type { OccurrencesState } from '../state/review/occurrences';
import type { QueueItem } from '../state/review/suspicions';
import {
  active,
  clampStart,
  currentQueue,
  pageSpan,
  pageSpans,
  putCaret,
  type ReviewWorkspace,
} from '../state/review/workspace';
import type { Prefs } from '../state/stores/prefs-store';
import type { HasUi, StatusLine } from '../state/stores/ui-store';
import {
  isReadable,
  pageSeconds,
  rowSeconds,
  rowsApart,
  type StripGeometry,
  type ViewState,
} from '../state/stores/view-store';
import { activateRecorder, type Recorders } from './display';
import { refuse } from './perform';
import { markInNextRow } from './sampling';

/** Ways of getting about. None of them changes a mark. */

export function stepMark(workspace: ReviewWorkspace, app: HasUi<StatusLine>, direction: 1 | -1): boolean {
  const { review, caret } = active(workspace);
  const i = direction === 1 ? lowerBound(review.marks, caret + 1) : lowerBound(review.marks, caret) - 1;
  const mark = review.marks[i];
  if (mark === undefined) return refuse(app, direction === 1 ? 'No mark after this one.' : 'No mark before this one.');
  const beyond = markInNextRow(workspace, mark, direction);
  if (beyond === 'end') return refuse(app, endWords(direction));
  putCaret(workspace, beyond ?? mark);
  return true;
}

function endWords(direction: number): string {
  return direction > 0 ? 'Last mark of these stretches.' : 'First mark of these stretches.';
}

/** Several marks on or back, or as far as there are marks. */
export function stepMarks(workspace: ReviewWorkspace, app: HasUi<StatusLine>, count: number): boolean {
  const { review, caret } = active(workspace);
  const here = count > 0 ? lowerBound(review.marks, caret + 1) - 1 : lowerBound(review.marks, caret);
  const mark = review.marks[Math.max(0, Math.min(review.marks.length - 1, here + count))];
  if (mark === undefined || mark === caret)
    return refuse(app, count > 0 ? 'No mark after this one.' : 'No mark before this one.');
  const beyond = markInNextRow(workspace, mark, count > 0 ? 1 : -1);
  if (beyond === 'end') return refuse(app, endWords(count));
  putCaret(workspace, beyond ?? mark);
  return true;
}

/** What turning a page needs to know of this person. */
export interface Paging extends HasUi<StatusLine> {
  readonly prefs: { getState(): Pick<Prefs, 'skipOutside'> };
}

/** Turns the page; from a page with part of a segment never to one outside all of them, where the person wants that. */
export function turnPage(workspace: ReviewWorkspace, app: Paging, direction: 1 | -1): boolean {
  if (rowsApart(workspace.view.getState()))
    return refuse(app, 'Accept these stretches to see the next ones, or leave the sample.');
  const skips = app.prefs.getState().skipOutside && segmentsOnPage(workspace).length > 0;
  const moved = turnOver(workspace, direction);
  if (moved && skips && segmentsOnPage(workspace).length === 0) skipOutside(workspace, app, direction);
  return moved;
}

function segmentsOnPage(workspace: ReviewWorkspace): readonly Span[] {
  const page = pageSpan(workspace);
  return segmentsUnderReview(active(workspace).item).filter(s => s.start < page.end && s.end > page.start);
}

/** On to the start of the next segment, or back to the end of the one before; stays where there is none. */
function skipOutside(workspace: ReviewWorkspace, app: Paging, direction: 1 | -1): void {
  const { item, review } = active(workspace);
  const page = pageSpan(workspace);
  const segments = segmentsUnderReview(item);
  const next = direction === 1 ? segments.find(s => s.start >= page.end) : segments.findLast(s => s.end <= page.start);
  if (!next) return;
  if (direction === 1) goTo(workspace, next.start);
  else goTo(workspace, between(review.marks, next.start, next.end).at(-1) ?? next.end - 1, 0.9);
  app.ui.status(`Time outside the segments skipped: ${next.name}.`);
}

/** Keeps one beat of overlap so that no interval falls between two pages. */
function turnOver(workspace: ReviewWorkspace, direction: 1 | -1): boolean {
  const now = active(workspace);
  const view = workspace.view.getState();
  const page = pageSpan(workspace);
  const seconds = pageSeconds(view, view.geometry);
  const shown = between(now.review.marks, page.start, page.end);
  const edge = direction === 1 ? shown.at(-1) : shown[0];
  const margin = Math.min(0.3, seconds * 0.05);
  let startSeconds = direction === 1 ? view.startSeconds + seconds : view.startSeconds - seconds;
  if (edge !== undefined) {
    const overlap = direction === 1 ? edge / now.rateHz - margin : edge / now.rateHz + margin - seconds;
    if (Math.abs(overlap - startSeconds) < seconds * 0.6) startSeconds = overlap;
  }
  const clamped = clampStart(workspace, startSeconds);
  const moved = Math.abs(clamped - view.startSeconds) > 1e-9;
  workspace.view.setState({ startSeconds: clamped });
  const first = direction === 1 && moved ? firstMarkFrom(workspace, edge === undefined ? page.end : edge + 1) : null;
  const caret = first ?? firstMarkFrom(workspace, clamped * now.rateHz) ?? Math.round(clamped * now.rateHz);
  if (moved) putCaret(workspace, caret, true);
  return moved;
}

function firstMarkFrom(workspace: ReviewWorkspace, sample: number): number | null {
  const { review } = active(workspace);
  const page = pageSpan(workspace);
  const mark = review.marks[lowerBound(review.marks, sample)];
  return mark !== undefined && mark < page.end ? mark : null;
}

export function stepCaret(workspace: ReviewWorkspace, seconds: number): boolean {
  const { caret, rateHz } = active(workspace);
  putCaret(workspace, caret + Math.sign(seconds) * Math.max(1, Math.round(Math.abs(seconds) * rateHz)), true);
  return true;
}

export function stepSegment(workspace: ReviewWorkspace, app: HasUi<StatusLine>, direction: 1 | -1): boolean {
  const { item, caret } = active(workspace);
  const starts = segmentsUnderReview(item).map(s => s.start);
  const next = direction === 1 ? starts.find(s => s > caret) : starts.filter(s => s < caret).at(-1);
  if (next === undefined)
    return refuse(app, direction === 1 ? 'This is the last segment.' : 'This is the first segment.');
  goTo(workspace, next);
  return true;
}

/** The same place one row down or up: the nearest mark within a QRS or two, else the place itself. */
export function stepRow(workspace: ReviewWorkspace, direction: 1 | -1): boolean {
  const { caret, rateHz, review } = active(workspace);
  const view = workspace.view.getState();
  const sample = caret + direction * secondsToRow(view, caret / rateHz, direction) * rateHz;
  const mark = review.marks[nearest(review.marks, sample)];
  putCaret(workspace, mark !== undefined && Math.abs(mark - sample) <= nearRowS * rateHz ? mark : sample);
  return workspace.view.getState().caret !== caret;
}

const nearRowS = 0.2;

/** How much later the row below shows, or earlier the one above; 0 where a page of a sample has none. */
function secondsToRow(view: ViewState & { geometry: StripGeometry }, caretSeconds: number, direction: 1 | -1): number {
  const row = rowSeconds(view, view.geometry);
  const rows = rowsApart(view);
  if (!rows) return row;
  const here = rows.findIndex(r => caretSeconds >= r.startSeconds && caretSeconds < r.startSeconds + row);
  const next = rows[here + direction];
  return here >= 0 && next ? Math.abs(next.startSeconds - rows[here]!.startSeconds) : 0;
}

/** Shows a place near the left of the page, or at another share of its width. */
export function goTo(workspace: ReviewWorkspace, sample: number, share = 0.1): void {
  const { rateHz } = active(workspace);
  const view = workspace.view.getState();
  const shown = pageSeconds(view, view.geometry);
  if (rowsApart(view) && pageSpans(workspace).some(s => sample >= s.start && sample < s.end)) {
    putCaret(workspace, sample, true);
    return;
  }
  const startSeconds = sample / rateHz - (share < 0.5 ? Math.min(0.5, shown * share) : shown * share);
  workspace.view.setState({ startSeconds: clampStart(workspace, startSeconds) });
  putCaret(workspace, sample, true);
}

export function goToUnseen(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const { item, review, caret, rateHz } = active(workspace);
  if (!isReadable(workspace.view.getState())) {
    return refuse(app, 'Zoom in first: at this paper speed nothing counts as looked at.');
  }
  const next = nextUnseen(item, review, caret + 1, pageSpan(workspace));
  if (next === null) {
    const covered = segmentsUnderReview(item).every(s => coverageOf(item, review, s).covered);
    return refuse(app, covered ? 'Everything has been looked at.' : 'All that was not looked at is on this page.');
  }
  if (next === caret) return refuse(app, 'This is the only place left.');
  const page = pageSpan(workspace);
  if (next >= page.start && next < page.end - rateHz * 0.2) putCaret(workspace, next, true);
  else goTo(workspace, next);
  return true;
}

/** The suspicious place gone to last on each recorder: from there its list goes on, also after it was settled. */
const visited = new WeakMap<ReviewWorkspace, Map<string, QueueItem>>();

function visitedOn(workspace: ReviewWorkspace): Map<string, QueueItem> {
  const known = visited.get(workspace) ?? new Map<string, QueueItem>();
  visited.set(workspace, known);
  return known;
}

const after = (item: QueueItem, last: QueueItem) => {
  const [here, there] = [expectedGain(item), expectedGain(last)];
  return here < there || (here === there && item.at > last.at);
};

/** Index of the item one further down or up the list; -1 or the length of the list where it ends. */
function nextItem(items: readonly QueueItem[], caret: number, last: QueueItem | undefined, direction: 1 | -1): number {
  const here = items.findIndex(i => i.at === caret);
  if (here !== -1) return here + direction;
  if (direction === 1) {
    const next = last ? items.findIndex(i => after(i, last)) : 0;
    return next === -1 ? items.length : next;
  }
  const before = last ? items.findLastIndex(i => after(last, i)) : -1;
  return before === -1 ? items.length - 1 : before;
}

/** What is still open between the recorder's marks around the place gone to last: a gap is finished before it is left. */
function restOfGap(workspace: ReviewWorkspace, items: readonly QueueItem[], last: QueueItem): QueueItem | undefined {
  if (last.mark !== null || items.some(i => i.id === last.id)) return undefined;
  const { detected } = active(workspace).item;
  const next = lowerBound(detected, last.at + 1);
  const [start, end] = [detected[next - 1] ?? -1, detected[next] ?? Number.POSITIVE_INFINITY];
  return items.find(i => i.mark === null && i.at > start && i.at < end);
}

export function goToSuspicion(workspace: ReviewWorkspace, app: HasUi<StatusLine>, direction: 1 | -1): boolean {
  const { recordingId, caret } = workspace.view.getState();
  const { items, below, part } = currentQueue(workspace, 'now');
  if (items.length === 0) return refuse(app, whyNoSuspicion(workspace, recordingId, part) + lessLikely(below.length));
  const last = visitedOn(workspace).get(recordingId);
  const rest = direction === 1 && last ? restOfGap(workspace, items, last) : undefined;
  const following = rest ?? items[nextItem(items, caret, last, direction)];
  // What became stronger since, or was passed over, waits at the head of the list: the tour goes round to it.
  const round = !following && direction === 1 && items[0]!.at !== caret ? items[0] : undefined;
  const item = following ?? round;
  if (!item)
    return refuse(
      app,
      direction === 1
        ? `That was the last one${inPart(part)}.${lessLikely(below.length)}`
        : 'This is the most suspicious one.',
    );
  visitedOn(workspace).set(recordingId, item);
  putCaret(workspace, item.at);
  app.ui.status(round ? `From the top again, still open: ${placeWords(item)}` : placeWords(item));
  return true;
}

function lessLikely(count: number): string {
  if (count === 0) return '';
  return ` ${count} less likely ${count === 1 ? 'place is' : 'places are'} below the line: page by page finds more.`;
}

/** That nothing is left is said only where something was looked for. */
function whyNoSuspicion(workspace: ReviewWorkspace, recordingId: string, part: string | null): string {
  const why = workspace.suspicions.whyNone?.(recordingId) ?? null;
  if (why !== null) return `No suspicious places are known: ${why}.`;
  if (!workspace.suspicions.ready(recordingId)) return 'The recording is still being analysed.';
  return `No suspicious place is left${inPart(part)}.`;
}

function inPart(part: string | null): string {
  return part === null ? '' : ` in ${part}`;
}

/** Restricts the queue to the segment of the caret, or lifts that. */
export function restrictQueue(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  workspace.view.setState({ segmentOnly: !workspace.view.getState().segmentOnly });
  const { items, part } = currentQueue(workspace, 'now');
  const places = `${items.length} suspicious ${items.length === 1 ? 'place' : 'places'}`;
  app.ui.status(`${places} in ${part ?? 'the whole recording'}.`);
  return true;
}

/** Shows the places behind a count, from the first one on. */
export function showOccurrences(
  workspace: ReviewWorkspace,
  app: Recorders,
  occurrences: Omit<OccurrencesState, 'at'>,
): boolean {
  workspace.occurrences.setState({ ...occurrences, at: -1 });
  return stepOccurrence(workspace, app, 1);
}

export function stepOccurrence(workspace: ReviewWorkspace, app: Recorders, direction: 1 | -1): boolean {
  const occurrences = workspace.occurrences.getState();
  const at = occurrences.at + direction;
  const place = occurrences.places[at];
  if (place === undefined) {
    return refuse(
      app,
      occurrences.places.length === 0
        ? 'Choose a count in the ledger to step through its occurrences.'
        : 'No more occurrences.',
    );
  }
  workspace.occurrences.setState({ at });
  activateRecorder(workspace, app, occurrences.recordingId);
  putCaret(workspace, place);
  app.ui.status(`${occurrences.title}: ${at + 1} of ${occurrences.places.length}`);
  return true;
}
