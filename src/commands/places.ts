import { worthALook } from '../core/review/places/groups';
import { chanceWords, placeWords } from '../core/review/places/place-words';
import type { QueueItem } from '../state/review/suspicions';
import { active, itemAtCaret, pageSpan, pageSpans, putCaret, type ReviewWorkspace } from '../state/review/workspace';
import type { HasUi, StatusLine } from '../state/stores/ui-store';
import { isReadable } from '../state/stores/view-store';
import { acceptPage, dismissItem, takeSuggestion } from './edits';
import { type Paging, turnPage } from './navigate';
import { offeredWords, refuse } from './perform';
import { acceptStretches, sampledOnPage } from './sampling';

/**
 * Page after page: one key goes to each place worth a look on the page, in the order of time; when there is none left,
 * the same key accepts the page and turns it.
 */

function remember(workspace: ReviewWorkspace, at: number): void {
  const { recordingId, caret } = workspace.view.getState();
  workspace.view.setState({ goneThrough: { recordingId, at, caret } });
}

/** The sample from which on a place is the next one: after the last one gone to, or from the caret where a hand moved it. */
function nextFrom(workspace: ReviewWorkspace): number {
  const { recordingId, caret, goneThrough: last } = workspace.view.getState();
  return last?.recordingId === recordingId && last.caret === caret ? last.at + 1 : caret;
}

/** Places worth a look on the page, in the order of time. */
function placesOnPage(workspace: ReviewWorkspace): QueueItem[] {
  const spans = pageSpans(workspace);
  return workspace.suspicions
    .itemsNow(workspace.view.getState().recordingId)
    .filter(i => i.score >= worthALook && spans.some(s => i.at >= s.start && i.at < s.end))
    .sort((a, b) => a.at - b.at);
}

/** Places gone to, on each recorder. What was corrected may bring out another place before the one gone to last. */
const gone = new WeakMap<ReviewWorkspace, Map<string, QueueItem[]>>();

function goneOn(workspace: ReviewWorkspace): QueueItem[] {
  const { recordingId } = workspace.view.getState();
  const known = gone.get(workspace) ?? new Map<string, QueueItem[]>();
  gone.set(workspace, known);
  const here = known.get(recordingId) ?? [];
  known.set(recordingId, here);
  return here;
}

/** A missing beat's estimated place wanders a little as marks change. */
const samePlaceS = 0.15;

function wasGoneTo(workspace: ReviewWorkspace, item: QueueItem): boolean {
  const near = active(workspace).rateHz * (item.mark === null ? samePlaceS : 0);
  return goneOn(workspace).some(g => (g.mark === null) === (item.mark === null) && Math.abs(g.at - item.at) <= near);
}

/** The first place from a sample on; past the last one, the first that was never gone to. */
function placeFrom(workspace: ReviewWorkspace, from: number): QueueItem | undefined {
  const places = placesOnPage(workspace);
  return places.find(i => i.at >= from) ?? places.find(i => !wasGoneTo(workspace, i));
}

function show(workspace: ReviewWorkspace, app: HasUi<StatusLine>, item: QueueItem): true {
  putCaret(workspace, item.at, true);
  if (!wasGoneTo(workspace, item)) goneOn(workspace).push(item);
  remember(workspace, item.at);
  app.ui.status(`${placeWords(item)} (${chanceWords(item.score)})`);
  return true;
}

/** The next place on the page; past the last one the page is accepted and turned. */
export function nextPlace(workspace: ReviewWorkspace, app: Paging): boolean {
  if (!isReadable(workspace.view.getState()))
    return refuse(app, 'Zoom in first: at this paper speed single beats cannot be judged.');
  if (!workspace.suspicions.ready(workspace.view.getState().recordingId))
    return refuse(app, 'The recording is still being analysed: places to look at are not known yet.');
  const next = placeFrom(workspace, nextFrom(workspace));
  return next ? show(workspace, app, next) : acceptAndTurn(workspace, app);
}

export function previousPlace(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const { caret } = workspace.view.getState();
  const before = placesOnPage(workspace).findLast(i => i.at < caret);
  return before ? show(workspace, app, before) : refuse(app, 'No place worth a look before this one on the page.');
}

/** Accepts the page and turns it. Says when a segment is done. */
export function acceptAndTurn(workspace: ReviewWorkspace, app: Paging): boolean {
  if (sampledOnPage(workspace)) return acceptStretches(workspace, app);
  const page = pageSpan(workspace);
  const { signOffOffer: before } = workspace.view.getState();
  if (!acceptPage(workspace, app)) return false;
  const { signOffOffer: offer } = workspace.view.getState();
  turnPage(workspace, app, 1);
  // What the page before showed in full is not gone to again; the beat that overlaps was on it.
  remember(workspace, Math.max(page.end - 1, pageSpan(workspace).start - 1));
  if (offer && offer !== before) app.ui.status(offeredWords(offer.segment));
  return true;
}

type AtItem = (workspace: ReviewWorkspace, app: HasUi<StatusLine>, item: QueueItem) => boolean;

function sameOffer(drawn: QueueItem | undefined, item: QueueItem): boolean {
  const offers = ({ candidates }: QueueItem) => JSON.stringify(candidates);
  return drawn === item || (drawn?.id === item.id && offers(drawn) === offers(item));
}

function atItem(work: AtItem, thenOn: boolean) {
  return (workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean => {
    const drawn = itemAtCaret(workspace, 'shown');
    const item = itemAtCaret(workspace, 'now');
    if (!item) return refuse(app, 'Nothing suspicious here.');
    // The list follows an edit a moment later. Nothing is decided that was not on the strip.
    if (!sameOffer(drawn, item)) return refuse(app, 'This place is shown only now: look, and press again.');
    if (!work(workspace, app, item)) return false;
    if (!wasGoneTo(workspace, item)) goneOn(workspace).push(item);
    remember(workspace, item.at);
    if (!thenOn) return true;
    const next = placeFrom(workspace, item.at + 1);
    return next ? show(workspace, app, next) : true;
  };
}

export const take = atItem(takeSuggestion, false);
export const takeAndGoOn = atItem(takeSuggestion, true);
export const setAside = atItem(dismissItem, false);
export const setAsideAndGoOn = atItem(dismissItem, true);
