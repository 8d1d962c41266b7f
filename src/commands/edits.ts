import { proposerName } from '../core/detector/sinus/not-sinus';
import type { Operation } from '../core/marks/edit';
import type { Intent } from '../core/marks/log';
import { between, has, type Marks } from '../core/marks/markset';
import { covers, firstEndingAfter, subtract } from '../core/marks/spans';
import {
  acceptMark,
  acceptSpan,
  addNote,
  addUnreadable,
  type Built,
  confirmNotSinus,
  deleteMark,
  dismiss,
  insertMark,
  insertMarks,
  moveMark,
  nextNoteId,
  refuseChange,
  removeUnreadable,
  toggleNotSinus,
} from '../core/review/edits';
import { snapSpan } from '../core/review/places/span-end';
import type { SampleIndex, Span } from '../core/units';
import { apexNear } from '../state/review/apex';
import { refillRows } from '../state/review/sampled-page';
import type { QueueItem } from '../state/review/suspicions';
import { active, pageSpans, putCaret, type ReviewWorkspace } from '../state/review/workspace';
import type { HasUi, StatusLine } from '../state/stores/ui-store';
import { isReadable } from '../state/stores/view-store';
import { activateRecorder, type Recorders } from './display';
import {
  editing,
  lookAtPage,
  offeredWords,
  perform,
  refuse,
  takeBackLast,
  timeLabel,
  whyReadOnly,
  withSelected,
} from './perform';

/** The acts on marks, shared by keys, mouse and touch. Each returns whether something changed. */

export function accept(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  return withSelected(workspace, app, (at, now) =>
    perform(workspace, app, 'accept', acceptMark(editing(workspace, now), at), 'Kept.'),
  );
}

/** Accepts every mark on the page; refused at a scale at which no beat can be judged. */
export function acceptPage(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const view = workspace.view.getState();
  if (!isReadable(view)) return refuse(app, 'Zoom in first: at this paper speed single beats cannot be judged.');
  const spans = pageSpans(workspace);
  const completed = lookAtPage(workspace, spans);
  const built = acceptSpan(editing(workspace), ...spans);
  if (built === null) {
    if (completed !== null) app.ui.status(offeredWords(completed));
    return true;
  }
  return perform(workspace, app, 'accept', built, 'Page accepted.');
}

export function move(workspace: ReviewWorkspace, app: HasUi<StatusLine>, from: SampleIndex, to: SampleIndex): boolean {
  const now = active(workspace);
  const said = `Moved by ${to >= from ? '+' : '−'}${timeLabel(Math.abs(to - from), now.rateHz)}.`;
  const done = perform(workspace, app, 'move', moveMark(editing(workspace, now), from, to), said);
  if (done) putCaret(workspace, to, true);
  return done;
}

/** Moves the selected mark by whole samples, stopping at the recording's ends. */
export function moveBy(workspace: ReviewWorkspace, app: HasUi<StatusLine>, samples: number): boolean {
  return withSelected(workspace, app, (from, now) => {
    const to = Math.max(0, Math.min(now.lastSample, from + samples)) as SampleIndex;
    return move(workspace, app, from, to);
  });
}

/** Where a snap found nothing to do: the same key again goes to the nearest peak of either sign. */
const offered = new WeakMap<ReviewWorkspace, SampleIndex>();

/** Puts the selected mark on the apex of its family. What stands right by its family stays within 10 ms. */
export function snap(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  return withSelected(workspace, app, at => {
    const again = offered.get(workspace) === at;
    offered.delete(workspace);
    const to = apexNear(workspace, at, again ? 'other peak' : 'snap');
    if (to !== at) return move(workspace, app, at, to);
    if (again) return refuse(app, 'There is no other peak within 150 ms.');
    offered.set(workspace, at);
    return refuse(app, 'It stands where beats like it are marked. Press again for the nearest peak, up or down.');
  });
}

/** Marks the beat under the caret as not sinus, as proposed or by the rater's own eye, or takes that back. */
export function markNotSinus(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  return withSelected(workspace, app, (at, now) => {
    const open = workspace.proposals?.open(now.item.recording.id) ?? [];
    if (open.some(b => b.at === at)) {
      const left = `${open.length - 1} ${open.length === 2 ? 'proposal is' : 'proposals are'} left.`;
      const confirmed = confirmNotSinus(editing(workspace, now), [at], proposerName);
      return perform(workspace, app, 'not sinus', confirmed, `Marked as not sinus, as proposed. ${left}`);
    }
    const said = has(now.review.notSinus, at) ? 'No longer marked as not sinus.' : 'Marked as not sinus.';
    return perform(workspace, app, 'not sinus', toggleNotSinus(editing(workspace, now), at), said);
  });
}

export function removeAtCaret(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  return withSelected(workspace, app, (at, now) =>
    perform(workspace, app, 'delete', deleteMark(editing(workspace, now), at), 'Removed.'),
  );
}

/** Inserts on the R apex nearest to where the rater points. */
export function insertNear(workspace: ReviewWorkspace, app: HasUi<StatusLine>, asked: SampleIndex): boolean {
  return insertAt(workspace, app, apexNear(workspace, asked, 'insert'), asked);
}

export function insertAt(
  workspace: ReviewWorkspace,
  app: HasUi<StatusLine>,
  sample: SampleIndex,
  asked = sample,
): boolean {
  const now = active(workspace);
  const said = covers(now.review.unreadable, sample)
    ? 'Inserted in an unreadable stretch: it does not count there.'
    : 'Inserted.';
  const done = perform(workspace, app, 'insert', insertMark(editing(workspace, now), sample, asked), said);
  if (done) putCaret(workspace, sample, true);
  return done;
}

/** Begins an unreadable span at the caret, or ends the one begun. */
export function markUnreadable(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const { spanStart, caret } = workspace.view.getState();
  if (spanStart === null) {
    const here: Span = { start: caret, end: (caret + 1) as SampleIndex };
    const refusal = refuseChange(editing(workspace), [{ op: 'unreadable', removed: [], added: [here] }]);
    const why = whyReadOnly(workspace) ?? refusal?.refused;
    if (why !== undefined) return refuse(app, why);
    workspace.view.setState({ spanStart: caret });
    app.ui.status('Unreadable from here: go to its end and press the key again.');
    return true;
  }
  workspace.view.setState({ spanStart: null });
  return addUnreadableSpan(workspace, app, spanStart, caret);
}

/** Where stretches that are proposed as unreadable begin and end. */
function noiseEdges(workspace: ReviewWorkspace): number[] {
  const items = workspace.suspicions.items(workspace.view.getState().recordingId);
  return items.flatMap(i => i.candidates.flatMap(c => (c.kind === 'unreadable' ? [c.at, c.end] : [])));
}

/** The span between two places as it would be marked: with its ends on the noise edge or the next mark, where one is near. */
export function snappedSpan(workspace: ReviewWorkspace, a: SampleIndex, b: SampleIndex): Span {
  const shown = { start: Math.min(a, b) as SampleIndex, end: Math.max(a, b) as SampleIndex };
  if (a === b) return shown;
  const { review, rateHz } = active(workspace);
  return snapSpan(shown, review.marks, noiseEdges(workspace), rateHz);
}

export function addUnreadableSpan(
  workspace: ReviewWorkspace,
  app: HasUi<StatusLine>,
  a: SampleIndex,
  b: SampleIndex,
): boolean {
  if (a === b) return refuse(app, 'Start and end of an unreadable span must differ.');
  const span = snappedSpan(workspace, a, b);
  return perform(workspace, app, 'unreadable', addUnreadable(editing(workspace), span), 'Marked unreadable.');
}

export function makeReadable(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const { review, caret } = active(workspace);
  const span = review.unreadable[firstEndingAfter(review.unreadable, caret)];
  if (!span || span.start > caret) return refuse(app, 'The caret is not in an unreadable span.');
  return perform(workspace, app, 'readable', removeUnreadable(editing(workspace), span), 'Readable again.');
}

export function remark(
  workspace: ReviewWorkspace,
  app: HasUi<StatusLine>,
  kind: 'comment' | 'flag',
  text: string,
): boolean {
  const said = kind === 'flag' ? 'Flagged.' : 'Comment saved.';
  return perform(workspace, app, kind, noteHere(workspace, kind, text), said);
}

/** A remark at the caret, or why there can be none. */
export function noteHere(workspace: ReviewWorkspace, kind: 'comment' | 'flag', text: string): Built {
  const now = active(workspace);
  const note = { id: nextNoteId(now.review), kind, start: now.caret, end: now.caret, text };
  return addNote(editing(workspace, now), note);
}

/** Takes the suggestion at the caret. */
export function takeSuggestion(workspace: ReviewWorkspace, app: HasUi<StatusLine>, item: QueueItem): boolean {
  const choice = item.candidates[0];
  if (!choice) return refuse(app, 'There is no suggestion for this place.');
  const now = editing(workspace);
  if (choice.kind === 'delete')
    return perform(workspace, app, 'delete', deleteMark(now, choice.at), 'Removed as suggested.');
  if (choice.kind === 'move') return move(workspace, app, choice.at, choice.to);
  if (choice.kind === 'unreadable') return addUnreadableSpan(workspace, app, choice.at, choice.end);
  return fillGap(workspace, app, item);
}

/** Inserts every beat that a place says is missing, as one act. */
function fillGap(workspace: ReviewWorkspace, app: HasUi<StatusLine>, { candidates }: QueueItem): boolean {
  const places = candidates.flatMap(c => (c.kind === 'insert' ? [c.at] : []));
  const said = places.length === 1 ? 'Inserted.' : `Inserted ${places.length} beats.`;
  const done = perform(workspace, app, 'insert', insertMarks(editing(workspace), places), said);
  if (done) putCaret(workspace, places[0]!, true);
  return done;
}

export function dismissItem(workspace: ReviewWorkspace, app: HasUi<StatusLine>, item: QueueItem): boolean {
  return perform(workspace, app, 'dismiss', dismiss(editing(workspace), item.reason, item.at), 'Set aside.');
}

/** What an entry did, in the words of the keys where they differ from the log's. */
const acts: Partial<Record<Intent, string>> = {
  accept: 'keeping',
  move: 'moving',
  delete: 'removing',
  insert: 'inserting',
  unreadable: 'marking unreadable',
  readable: 'making readable',
  'not sinus': 'marking as not sinus',
  dismiss: 'setting aside',
  settle: 'settling',
};

/** Undo and redo go to where they act, unless a segment there was signed off since. */
export function takeBack(workspace: ReviewWorkspace, app: Recorders, direction: 'undo' | 'redo'): boolean {
  const entry = takeBackLast(workspace, app, direction);
  if (!entry) return false;
  activateRecorder(workspace, app, entry.recording);
  const { marks } = active(workspace).review;
  const place = entry.change.map(o => placeOf(o, marks, direction)).find(p => p !== null) ?? null;
  // Stretches of a sample taken back are shown again, and the next ones where that is done again.
  const shown = entry.change.some(o => o.op === 'sampled') && refillRows(workspace);
  if (place !== null && !shown) putCaret(workspace, place, true);
  app.ui.status(`${direction === 'undo' ? 'Undone' : 'Redone'}: ${acts[entry.intent] ?? entry.intent}.`);
  return true;
}

/** Where an operation taken back or done again is to be seen; null for those that show nowhere. */
function placeOf(o: Operation, marks: Marks, direction: 'undo' | 'redo'): number | null {
  switch (o.op) {
    case 'marks': {
      const [now, then] = direction === 'undo' ? [o.removed, o.added] : [o.added, o.removed];
      return now[0] ?? then[0] ?? null;
    }
    case 'unreadable':
    case 'accepted': {
      const [part] = [...subtract(o.added, o.removed), ...subtract(o.removed, o.added)];
      if (!part) return null;
      return (o.op === 'accepted' ? between(marks, part.start, part.end)[0] : undefined) ?? part.start;
    }
    case 'note':
      return (o.before ?? o.after)?.start ?? null;
    case 'notSinus':
      return [...o.removed, ...o.added][0] ?? null;
    case 'dismissal':
    case 'settlement':
    case 'spotCheck':
      return (o.before ?? o.after)?.at ?? null;
    default:
      return null;
  }
}

/** Gives up an unreadable span that was begun and not ended. */
export function cancel(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const begun = workspace.view.getState().spanStart !== null;
  workspace.view.setState({ spanStart: null });
  app.ui.status(begun ? 'Unreadable span cancelled.' : '');
  return begun;
}
