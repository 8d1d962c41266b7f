import { activateRecorder } from '../../commands/display';
import type { App } from '../../state/app';
import { openReview } from '../../state/review/opening';
import { openPartialWorkspace } from '../../state/review/partial-workspace';
import type { ReviewWorkspace } from '../../state/review/workspace';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp, WorkspaceContext } from '../app-context';
import { backToSessions, OpeningScreen, UnavailableScreen, useOpenedWorkspace } from '../controls/opened-workspace';
import { Review } from './review';

/** The review of a session; `recordingId` is the recorder to begin with. */
export function ReviewScreen({ sessionId, recordingId }: { sessionId: string; recordingId?: string }) {
  const app = useApp();
  const { workspace, problem } = useOpenedWorkspace(async left => {
    const opened = await openWorkspace(app, sessionId, left);
    if (recordingId !== undefined) takeInHand(app, opened, recordingId);
    return opened;
  });
  if (problem) return <UnavailableScreen words={problem} back={backToSessions} />;
  if (!workspace) return <OpeningScreen what="Opening the review" back={backToSessions} />;
  return (
    <WorkspaceContext value={workspace}>
      <Review />
    </WorkspaceContext>
  );
}

/** Once, as the address asks: reloading later comes back to whichever recorder is current then. */
function takeInHand(app: App, workspace: ReviewWorkspace, recordingId: string): void {
  const { session } = workspace.review.get();
  if (session.recordings.some(r => r.recording.id === recordingId)) activateRecorder(workspace, app, recordingId);
  history.replaceState(null, '', hashOfScreen({ name: 'review', sessionId: session.id }));
}

async function openWorkspace(app: App, sessionId: string, left: AbortSignal): Promise<ReviewWorkspace> {
  const { reading } = app.importing.store.getState();
  if (reading?.session.id === sessionId) return openPartialWorkspace(app, reading);
  const session = await app.library.session(sessionId);
  if (!session) throw new Error('This session is not stored in this browser. Open its bundle or its files again.');
  return openReview(app, session, app.prefs.getState().rater, left);
}
