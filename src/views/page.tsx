import { useEffect, useState } from 'react';
import type { App } from '../state/app';
import { leaveDesk, openReview } from '../state/opening';
import { screenFromHash } from '../state/shell-store';
import { AppContext, DeskContext, useApp, usePart } from './app-context';
import { Practice } from './practice/practice';
import { Review } from './review/review';
import { Start } from './start/start';

export function Page({ app }: { app: App }) {
  return (
    <AppContext value={app}>
      <Theme />
      <Screens />
    </AppContext>
  );
}

/** The address decides the screen; leaving a review closes its desk. */
function Screens() {
  const app = useApp();
  const screen = usePart(app.shell, s => s.screen);
  useEffect(() => {
    const follow = () => app.shell.setState({ screen: screenFromHash(location.hash), dialog: null });
    follow();
    window.addEventListener('hashchange', follow);
    return () => window.removeEventListener('hashchange', follow);
  }, [app]);
  if (screen.name === 'review') return <ReviewScreen key={screen.sessionId} sessionId={screen.sessionId} />;
  if (screen.name === 'practice') return <Practice key={screen.task.join('/')} path={screen.task} />;
  return <Start />;
}

function ReviewScreen({ sessionId }: { sessionId: string }) {
  const app = useApp();
  const desk = usePart(app.desk, d => d.desk);
  const [problem, setProblem] = useState('');
  useEffect(() => {
    let gone = false;
    const open = async () => {
      await app.prefs.load();
      const session = await app.library.session(sessionId);
      if (!session) throw new Error('This session is not kept in this browser. Open its bundle again.');
      const opened = await openReview(app, session, app.prefs.getState().rater || 'R1');
      if (gone) await opened.close();
      else app.desk.setState({ desk: opened });
    };
    open().catch((error: Error) => setProblem(error.message));
    return () => {
      gone = true;
      void leaveDesk(app);
    };
  }, [app, sessionId]);
  if (problem) {
    return (
      <main className="start">
        <p role="alert">{problem}</p>
        <p>
          <a href="#/">Back to the sessions</a>
        </p>
      </main>
    );
  }
  if (!desk) return <main className="start" aria-busy="true" />;
  return (
    <DeskContext value={desk}>
      <Review />
    </DeskContext>
  );
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
