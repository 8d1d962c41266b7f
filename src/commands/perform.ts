import type { Intent, LogEntry } from '../core/marks/log';
import type { Built, Editing } from '../core/review/edits';
import { isRefusal, look, refuseChange } from '../core/review/edits';
import { isPassThrough } from '../core/review/raters/settled-logs';
import type { SampleIndex } from '../core/units';
import { type Act, reviewOf } from '../state/review/review-store';
import { followSignOffOffer } from '../state/review/sign-off-offer';
import { type Active, active, itemOf, pageSpans, type ReviewWorkspace } from '../state/review/workspace';
import type { HasUi, StatusLine } from '../state/stores/ui-store';
import { isReadable } from '../state/stores/view-store';

/**
 * The one way into the log of a review: whatever changes it comes through here, so that reading only, signing off,
 * settling and the gate of the workspace hold for keys, mouse, touch and sheets alike.
 */

/** The active recording as the edit builders want it. */
export function editing(workspace: ReviewWorkspace, now: Active = active(workspace)): Editing {
  return { item: now.item, review: now.review, finished: workspace.review.get().replayed.finished };
}

/** Whole-review acts have '' for the recording; others are on the active one unless they name another. */
export type Particulars = {
  readonly [Key in 'recording' | 'fact' | 'reason' | 'origin']?: Act[Key] | undefined;
};

/** Appends what was built; says a refusal aloud. True when something changed. */
export function perform(
  workspace: ReviewWorkspace,
  app: HasUi<StatusLine>,
  intent: Intent,
  built: Built,
  said = '',
  particulars: Particulars = {},
): boolean {
  const readOnly = whyReadOnly(workspace);
  if (readOnly !== null) return refuse(app, readOnly);
  if (built === null) return refuse(app, '');
  if (isRefusal(built)) return refuse(app, built.refused);
  const recording = particulars.recording ?? workspace.view.getState().recordingId;
  const change = workspace.gate.admit(recording, intent, built);
  if (isRefusal(change)) return refuse(app, change.refused);
  const origin = particulars.origin ?? workspace.gate.origin;
  const { reason, fact } = particulars;
  const done = workspace.review.act({
    recording,
    intent,
    change,
    ...(fact ? { fact } : {}),
    ...(reason ? { reason } : {}),
    ...(origin ? { origin } : {}),
  });
  const offered = done ? followSignOffOffer(workspace, intent === 'sign off' || intent === 'reopen') : null;
  app.ui.status(done ? [said, offeredWords(offered)].filter(w => w !== '').join(' ') : finishedWords(workspace));
  return done;
}

/** Why nothing can be written in this review now, in words; null when it can. */
export function whyReadOnly(workspace: ReviewWorkspace): string | null {
  const { access } = workspace.review.get();
  return access.writable ? null : (access.why ?? 'This review is read-only here.');
}

/** Announces that a segment is complete; '' for none. */
export function offeredWords(segment: string | null): string {
  return segment === null ? '' : `${segment} has been looked at in full: it can be signed off.`;
}

function finishedWords(workspace: ReviewWorkspace): string {
  return `This ${workspace.purpose === 'settle' ? 'settlement' : 'review'} is finished: reopen it to change anything.`;
}

/**
 * Notes that the page was shown at a readable scale. Says nothing, as looking is no act of the hand, but returns the name
 * of the segment that it completed.
 */
export function lookAtPage(workspace: ReviewWorkspace, spans = pageSpans(workspace)): string | null {
  const { access, replayed } = workspace.review.get();
  if (workspace.purpose === 'settle' || !access.writable || replayed.finished || !isReadable(workspace.view.getState()))
    return null;
  if (workspace.onScreen?.() === false) return null;
  const change = look(editing(workspace), ...spans);
  if (!change) return null;
  workspace.review.act({ recording: workspace.view.getState().recordingId, intent: 'look', change });
  return followSignOffOffer(workspace);
}

/** Takes back or does again the last edit, unless a segment there was signed off since; null when it does not. */
export function takeBackLast(
  workspace: ReviewWorkspace,
  app: HasUi<StatusLine>,
  direction: 'undo' | 'redo',
): LogEntry | null {
  const state = workspace.review.get();
  const top = direction === 'undo' ? state.replayed.undoable : state.replayed.redoable;
  const entry = state.log.entries[top?.seq ?? -1];
  const not = (why: string) => {
    refuse(app, why);
    return null;
  };
  if (!entry) return not(direction === 'undo' ? 'Nothing to undo.' : 'Nothing to redo.');
  const readOnly = whyReadOnly(workspace);
  if (readOnly !== null) return not(readOnly);
  if (isPassThrough(entry)) return not('Settling began here: what both raters agree on stays.');
  const item = itemOf(workspace, entry.recording);
  const review = reviewOf(state, entry.recording);
  const refusal = refuseChange({ item, review, finished: state.replayed.finished }, entry.change);
  if (refusal) return not(refusal.refused);
  const done = direction === 'undo' ? workspace.review.undo() : workspace.review.redo();
  if (done) followSignOffOffer(workspace);
  return done ? entry : not('');
}

export function refuse(app: HasUi<StatusLine>, why: string): false {
  app.ui.status(why);
  return false;
}

/** Runs an edit at the selected mark, or says that none is selected. */
export function withSelected(
  workspace: ReviewWorkspace,
  app: HasUi<StatusLine>,
  work: (selected: SampleIndex, now: Active) => boolean,
): boolean {
  const now = active(workspace);
  if (now.selected === null) return refuse(app, 'No mark under the caret: step to one with the arrow keys.');
  return work(now.selected, now);
}

export function timeLabel(samples: number, rateHz: number): string {
  return `${((samples * 1000) / rateHz).toFixed(0)} ms`;
}
