import { proposerName } from '../core/detector/sinus/not-sinus';
import { has } from '../core/marks/markset';
import { asidePlace, confirmNotSinus, confirmRhythm, setAsideNotSinus } from '../core/review/edits';
import type { SampleIndex } from '../core/units';
import { errorMessage } from '../state/error-message';
import { active, putCaret, type ReviewWorkspace } from '../state/review/workspace';
import type { Dialog, HasUi, StatusLine } from '../state/stores/ui-store';
import { editing, perform, refuse } from './perform';

/** The walk through the beats proposed as not sinus. Nothing is taken unless a key or a button says so. */

type Says = HasUi<StatusLine>;

/** How many are left, with what to do next. */
function leftWords(workspace: ReviewWorkspace): string {
  const left = workspace.proposals!.open(workspace.view.getState().recordingId).length;
  if (left === 0) return 'None is left: the next key for proposed beats confirms the list.';
  return `${left} ${left === 1 ? 'proposal is' : 'proposals are'} left.`;
}

/** The next or previous proposed beat; after the last one the list is confirmed. */
export function stepProposal(workspace: ReviewWorkspace, app: Says, direction: 1 | -1): boolean {
  const { proposals } = workspace;
  const { recordingId } = workspace.view.getState();
  if (!proposals) return refuse(app, 'No beats are proposed here.');
  if (proposals.isLooking(recordingId)) return refuse(app, 'The beats are still being looked at.');
  if (!proposals.found(recordingId) || proposals.isStale(recordingId)) return lookForThem(workspace, app);
  const open = proposals.open(recordingId);
  if (open.length === 0) return confirmList(workspace, app);
  const { caret } = active(workspace);
  const further = direction === 1 ? open.findIndex(b => b.at > caret) : open.findLastIndex(b => b.at < caret);
  const at = further >= 0 ? further : direction === 1 ? 0 : open.length - 1;
  const beat = open[at]!;
  putCaret(workspace, beat.at);
  app.ui.status(`Not sinus? ${at + 1} of ${open.length}: ${beat.sentence}`);
  return true;
}

function lookForThem(workspace: ReviewWorkspace, app: Says): boolean {
  const { recordingId } = workspace.view.getState();
  const proposals = workspace.proposals!;
  app.ui.status('Looking at the beats …');
  proposals.look(recordingId).then(
    () => {
      const n = proposals.open(recordingId).length;
      app.ui.status(
        n === 0
          ? 'No beat is proposed as not sinus.'
          : `${n} ${n === 1 ? 'beat is' : 'beats are'} proposed as not sinus.`,
      );
    },
    error => app.ui.status(`The beats could not be looked at: ${errorMessage(error)}.`),
  );
  return true;
}

function confirmList(workspace: ReviewWorkspace, app: Says): boolean {
  const change = confirmRhythm(editing(workspace), proposerName);
  if (change === null) return refuse(app, 'The list of beats that are not sinus is confirmed.');
  const n = active(workspace).review.notSinus.length;
  const said = `List confirmed: ${n} ${n === 1 ? 'beat is' : 'beats are'} not sinus.`;
  return perform(workspace, app, 'not sinus', change, said);
}

/** Sets the proposed beat under the caret aside, as sinus, and goes on to the next one. */
export function setProposalAside(workspace: ReviewWorkspace, app: Says): boolean {
  const { recordingId } = workspace.view.getState();
  const { caret } = active(workspace);
  const here = workspace.proposals?.open(recordingId).find(b => b.at === caret);
  if (!here) return refuse(app, 'No beat is proposed as not sinus here.');
  if (!perform(workspace, app, 'dismiss', setAsideNotSinus(editing(workspace), [here.at]), 'Set aside: sinus.'))
    return false;
  if (workspace.proposals!.open(recordingId).length > 0) return stepProposal(workspace, app, 1);
  app.ui.status(`Set aside: sinus. ${leftWords(workspace)}`);
  return true;
}

/** Opens the picture of the kind of the proposed beat under the caret. */
export function showKind(workspace: ReviewWorkspace, app: HasUi<StatusLine & { openDialog(d: Dialog | null): void }>) {
  const here = workspace.proposals?.open(workspace.view.getState().recordingId) ?? [];
  const { caret } = active(workspace);
  if (!here.some(b => b.at === caret)) return refuse(app, 'No beat is proposed as not sinus here: go to one first.');
  app.ui.openDialog('not sinus kind');
  return true;
}

/** Decides the beats of a kind that are left, after its picture was seen. */
export function decideKind(
  workspace: ReviewWorkspace,
  app: Says,
  beats: readonly SampleIndex[],
  decision: 'not sinus' | 'set aside',
): boolean {
  const now = editing(workspace);
  const n = `${beats.length} ${beats.length === 1 ? 'beat' : 'beats'}`;
  const done =
    decision === 'not sinus'
      ? perform(workspace, app, 'not sinus', confirmNotSinus(now, beats, proposerName), `${n} marked as not sinus.`)
      : perform(workspace, app, 'dismiss', setAsideNotSinus(now, beats), `${n} set aside as sinus.`);
  if (done)
    app.ui.status(
      `${n} ${decision === 'not sinus' ? 'marked as not sinus' : 'set aside as sinus'}. ${leftWords(workspace)}`,
    );
  return done;
}

/** Whether a proposed beat was decided, for the words of the panel. */
export function decidedOf(workspace: ReviewWorkspace, proposed: readonly { readonly at: SampleIndex }[]) {
  const { review } = active(workspace);
  const aside = new Set<number>(review.dismissals.filter(d => d.reason === asidePlace).map(d => d.at));
  return {
    notSinus: proposed.filter(b => has(review.notSinus, b.at)).length,
    aside: proposed.filter(b => aside.has(b.at)).length,
  };
}
