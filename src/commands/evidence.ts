import { addNote, nextNoteId } from '../core/review/edits';
import { evidenceNote } from '../core/review/places/evidence';
import { active, type ReviewWorkspace } from '../state/review/workspace';
import { otherRecorder, type Recorders } from './display';
import { editing, perform, refuse } from './perform';

const nearSeconds = 0.2;

/** Notes that the other trace serves as evidence for the place under the caret, and goes to that moment on it. */
export function lookUpOnOther(workspace: ReviewWorkspace, app: Recorders): boolean {
  const { recordings } = workspace.review.get().session;
  if (recordings.length < 2) return refuse(app, 'This session has one recorder.');
  const now = active(workspace);
  const here = recordings.findIndex(r => r.recording.id === now.item.recording.id);
  const other = recordings[(here + 1) % recordings.length]!.recording;
  const { notes } = now.review;
  const noted = notes.some(n => n.kind === 'evidence' && Math.abs(n.start - now.caret) <= nearSeconds * now.rateHz);
  if (!noted) {
    const note = evidenceNote(nextNoteId(now.review), now.caret, other.recorder);
    if (!perform(workspace, app, 'evidence', addNote(editing(workspace, now), note))) return false;
  }
  otherRecorder(workspace, app);
  // The first recorder is the reference: what counts is where the later one's clock came from.
  const later = recordings[Math.max(here, (here + 1) % recordings.length)]!.recording.id;
  const { from: origin } = app.clocks.fitOf(workspace.review.get().session, later);
  const from = origin === 'start times' ? ', whose clock is known by its start time only' : '';
  app.ui.status(`${other.recorder}${from}: noted as evidence.`);
  return true;
}
