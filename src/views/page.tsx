import { useEffect } from 'react';
import { activateRecorder } from '../commands/display';
import type { App } from '../state/app';
import { openReview } from '../state/review/opening';
import { openPartialWorkspace } from '../state/review/partial-workspace';
import type { ReviewWorkspace } from '../state/review/workspace';
import { hashOfScreen, screenFromHash } from '../state/stores/ui-store';
import { AppContext, useApp, usePart, WorkspaceContext } from './app-context';
import { Compare } from './compare/compare';
import { backToSessions, UnavailableScreen, useOpenedWorkspace } from './controls/opened-workspace';
import { PassphraseSheet } from './controls/passphrase';
import { HelpSheets } from './help/help-sheets';
import { ImportSheet } from './import/import-sheet';
import { PracticeScreen } from './practice/practice';
import { ReportScreen } from './report/report';
import { Review } from './review/review';
import { Start } from './start/start';
import { StudyScreen } from './study/study';

export function Page({ app }: { app: App }) {
  return (
    <AppContext value={app}>
      <Theme />
      <Screens />
      <HelpSheets />
      <Import />
      <PassphraseSheet />
    </AppContext>
  );
}

/** The address decides the screen; leaving a review closes its workspace. */
function Screens() {
  const app = useApp();
  const screen = usePart(app.ui, s => s.screen);
  useEffect(() => {
    const follow = () => app.ui.setState({ screen: screenFromHash(location.hash), dialog: null });
    follow();
    window.addEventListener('hashchange', follow);
    return () => window.removeEventListener('hashchange', follow);
  }, [app]);
  const reading = usePart(app.importing.store, s => s.reading?.session.id ?? null);
  if (screen.name === 'review') {
    const early = reading === screen.sessionId;
    return <ReviewScreen key={`${screen.sessionId}${early ? '/early' : ''}`} {...screen} />;
  }
  if (screen.name === 'practice') return <PracticeScreen key={screen.task.join('/')} path={screen.task} />;
  if (screen.name === 'compare') return <Compare key={screen.sessionId} sessionId={screen.sessionId} />;
  if (screen.name === 'study') return <StudyScreen studyId={screen.studyId} />;
  if (screen.name === 'report') return <ReportScreen key={screen.sessionId} id={screen.sessionId} />;
  return <Start />;
}

/** Over any screen; out of the way while a recording that is still being read is on the screen. */
function Import() {
  const app = useApp();
  const screen = usePart(app.ui, s => s.screen);
  const stage = usePart(app.importing.store, s => s.stage);
  const reading = usePart(app.importing.store, s => s.reading?.session.id ?? null);
  const inReview = screen.name === 'review' && screen.sessionId === reading;
  return stage === 'reading' && inReview ? null : <ImportSheet />;
}

function ReviewScreen({ sessionId, recordingId }: { sessionId: string; recordingId?: string }) {
  const app = useApp();
  const { workspace, problem } = useOpenedWorkspace(async () => {
    const opened = await openDesk(app, sessionId);
    if (recordingId !== undefined) takeInHand(app, opened, recordingId);
    return opened;
  });
  if (problem) return <UnavailableScreen words={problem} back={backToSessions} />;
  if (!workspace) return <main className="start" aria-busy="true" />;
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

async function openDesk(app: App, sessionId: string): Promise<ReviewWorkspace> {
  const { reading } = app.importing.store.getState();
  if (reading?.session.id === sessionId) return openPartialWorkspace(app, reading);
  const session = await app.library.session(sessionId);
  if (!session) throw new Error('This session is not stored in this browser. Open its bundle or its files again.');
  return openReview(app, session, app.prefs.getState().rater || 'R1');
}

function Theme() {
  const app = useApp();
  const theme = usePart(app.prefs, p => p.theme);
  const largeText = usePart(app.prefs, p => p.largeText);
  useEffect(() => {
    const root = document.documentElement;
    if (theme === 'system') delete root.dataset['theme'];
    else root.dataset['theme'] = theme;
    root.classList.toggle('large-text', largeText);
  }, [theme, largeText]);
  return null;
}
