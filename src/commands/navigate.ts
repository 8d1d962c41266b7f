import { between, lowerBound } from '../core/marks/markset';
import { coverageOf, nextUnseen, segmentsUnderReview } from '../core/review/coverage';
import type { App } from '../state/app';
import type { QueueItem } from '../state/review/suspicions';
import { active, clampStart, type Desk, pageSpan, putCaret, queueInHand } from '../state/review/workspace';
import { isReadable, pageSeconds } from '../state/stores/view-store';
import { handTo } from './display';
import { lookAtPage } from './edits';
import { refuse } from './perform';

/** Ways of getting about. None of them changes a mark. */

export function stepMark(desk: Desk, app: App, direction: 1 | -1): boolean {
  const { review, caret } = active(desk);
  const i = direction === 1 ? lowerBound(review.marks, caret + 1) : lowerBound(review.marks, caret) - 1;
  const mark = review.marks[i];
  if (mark === undefined) return refuse(app, direction === 1 ? 'No mark after this one.' : 'No mark before this one.');
  putCaret(desk, mark);
  return true;
}

/** Turns the page, keeping one beat of overlap so that no interval falls between two pages. */
export function turnPage(desk: Desk, direction: 1 | -1): boolean {
  const now = active(desk);
  const view = desk.view.getState();
  const page = pageSpan(desk);
  const seconds = pageSeconds(view, view.geometry);
  lookAtPage(desk, page);
  const shown = between(now.review.marks, page.start, page.end);
  const edge = direction === 1 ? shown.at(-1) : shown[0];
  const margin = Math.min(0.3, seconds * 0.05);
  let startSec = direction === 1 ? view.startSec + seconds : view.startSec - seconds;
  if (edge !== undefined) {
    const overlap = direction === 1 ? edge / now.rateHz - margin : edge / now.rateHz + margin - seconds;
    if (Math.abs(overlap - startSec) < seconds * 0.6) startSec = overlap;
  }
  const clamped = clampStart(desk, startSec);
  const moved = Math.abs(clamped - view.startSec) > 1e-9;
  desk.view.setState({ startSec: clamped });
  const first = direction === 1 && moved ? firstMarkFrom(desk, edge === undefined ? page.end : edge + 1) : null;
  const caret = first ?? firstMarkFrom(desk, clamped * now.rateHz) ?? Math.round(clamped * now.rateHz);
  if (moved) putCaret(desk, caret, true);
  return moved;
}

function firstMarkFrom(desk: Desk, sample: number): number | null {
  const { review } = active(desk);
  const page = pageSpan(desk);
  const mark = review.marks[lowerBound(review.marks, sample)];
  return mark !== undefined && mark < page.end ? mark : null;
}

export function stepCaret(desk: Desk, seconds: number): boolean {
  const { caret, rateHz } = active(desk);
  putCaret(desk, caret + Math.sign(seconds) * Math.max(1, Math.round(Math.abs(seconds) * rateHz)), true);
  return true;
}

export function stepSegment(desk: Desk, app: App, direction: 1 | -1): boolean {
  const { item, caret } = active(desk);
  const starts = segmentsUnderReview(item).map(s => s.start);
  const next = direction === 1 ? starts.find(s => s > caret) : starts.filter(s => s < caret).at(-1);
  if (next === undefined)
    return refuse(app, direction === 1 ? 'This is the last segment.' : 'This is the first segment.');
  goTo(desk, next);
  return true;
}

/** Shows a place near the left of the page. */
export function goTo(desk: Desk, sample: number): void {
  const { rateHz } = active(desk);
  const view = desk.view.getState();
  const startSec = sample / rateHz - Math.min(0.5, pageSeconds(view, view.geometry) * 0.1);
  desk.view.setState({ startSec: clampStart(desk, startSec) });
  putCaret(desk, sample, true);
}

export function goToUnseen(desk: Desk, app: App): boolean {
  const { item, review, caret, rateHz } = active(desk);
  if (!isReadable(desk.view.getState())) {
    return refuse(app, 'Zoom in first: at this paper speed nothing counts as looked at.');
  }
  const next = nextUnseen(item, review, caret + 1, pageSpan(desk));
  if (next === null) {
    const covered = segmentsUnderReview(item).every(s => coverageOf(item, review, s).covered);
    return refuse(app, covered ? 'Everything has been looked at.' : 'What is left is on this page.');
  }
  if (next === caret) return refuse(app, 'This is the only place left.');
  const page = pageSpan(desk);
  if (next >= page.start && next < page.end - rateHz * 0.2) putCaret(desk, next, true);
  else goTo(desk, next);
  return true;
}

/** The suspicious place each desk went to last: from there the list goes on, also after it was settled. */
const visited = new WeakMap<Desk, QueueItem>();

const after = (item: QueueItem, last: QueueItem) =>
  item.score < last.score || (item.score === last.score && item.at > last.at);

/** Index of the item one further down or up the list; -1 or the length of the list where it ends. */
function nextItem(items: readonly QueueItem[], caret: number, last: QueueItem | undefined, direction: 1 | -1): number {
  const here = items.findIndex(i => i.at === caret);
  if (here !== -1) return here + direction;
  if (direction === 1) return Math.max(0, last ? items.findIndex(i => after(i, last)) : 0);
  const before = last ? items.findLastIndex(i => after(last, i)) : -1;
  return before === -1 ? items.length - 1 : before;
}

export function goToSuspicion(desk: Desk, app: App, direction: 1 | -1): boolean {
  const { recordingId, caret } = desk.view.getState();
  const { items, part } = queueInHand(desk, 'now');
  if (items.length === 0) return refuse(app, whyNoSuspicion(desk, recordingId, part));
  const item = items[nextItem(items, caret, visited.get(desk), direction)];
  if (!item)
    return refuse(app, direction === 1 ? `That was the last one${inPart(part)}.` : 'This is the most suspicious one.');
  visited.set(desk, item);
  putCaret(desk, item.at);
  app.shell.say(item.sentence);
  return true;
}

/** That nothing is left is said only where something was looked for. */
function whyNoSuspicion(desk: Desk, recordingId: string, part: string | null): string {
  if (desk.purpose === 'practice') return 'Practice points out no suspicious places: finding them is the task.';
  const why = desk.suspicions.whyNone?.(recordingId) ?? null;
  if (why !== null) return `No suspicious places are known: ${why}.`;
  if (!desk.suspicions.ready(recordingId)) return 'The recording is still being looked through.';
  return `No suspicious place is left${inPart(part)}.`;
}

function inPart(part: string | null): string {
  return part === null ? '' : ` in ${part}`;
}

/** Restricts the queue to the segment of the caret, or lifts that. */
export function restrictQueue(desk: Desk, app: App): boolean {
  desk.view.setState({ segmentOnly: !desk.view.getState().segmentOnly });
  const { items, part } = queueInHand(desk, 'now');
  const places = `${items.length} suspicious ${items.length === 1 ? 'place' : 'places'}`;
  app.shell.say(`${places} in ${part ?? 'the whole recording'}.`);
  return true;
}

export function walkPlaces(desk: Desk, app: App, direction: 1 | -1): boolean {
  const walk = desk.walk.getState();
  const at = walk.at + direction;
  const place = walk.places[at];
  if (place === undefined) {
    return refuse(
      app,
      walk.places.length === 0 ? 'Choose a count in the ledger to walk its places.' : 'No further place.',
    );
  }
  desk.walk.setState({ at });
  handTo(desk, app, walk.recordingId);
  putCaret(desk, place);
  app.shell.say(`${walk.title}: ${at + 1} of ${walk.places.length}`);
  return true;
}
