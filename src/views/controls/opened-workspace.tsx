import { useEffect, useState } from 'react';
import { leaveWorkspace } from '../../state/review/opening';
import type { ReviewWorkspace } from '../../state/review/workspace';
import { useApp } from '../app-context';
import { NoticeList } from './notices';

/**
 * Opens a workspace when its screen appears and leaves it when the screen goes, whichever comes first. `open` runs once: give
 * the screen a React key of all it depends on. It may answer null where there is nothing to open. Its signal is aborted when
 * the screen goes.
 */
export function useOpenedWorkspace<D extends ReviewWorkspace>(
  open: (left: AbortSignal) => Promise<D | null>,
): { workspace: D | null; problem: string } {
  const app = useApp();
  const [workspace, setWorkspace] = useState<D | null>(null);
  const [problem, setProblem] = useState('');
  // biome-ignore lint/correctness/useExhaustiveDependencies: the screen is keyed by what `open` depends on
  useEffect(() => {
    const left = new AbortController();
    const run = async () => {
      await app.prefs.load();
      const opened = await open(left.signal);
      if (left.signal.aborted) await opened?.close();
      else if (opened) {
        // Before the first key can be answered: what is said from here on is of this workspace.
        app.ui.status('');
        app.workspace.setState({ workspace: opened });
        setWorkspace(opened);
      }
    };
    run().catch((error: Error) => setProblem(error.message));
    return () => {
      left.abort();
      void leaveWorkspace(app);
    };
  }, [app]);
  return { workspace, problem };
}

/** A screen that cannot be shown, why, and the way back. */
export function UnavailableScreen({ words, back }: { words: string; back: { href: string; label: string } }) {
  return (
    <main className="start">
      <p role="alert">{words}</p>
      <p>
        <a href={back.href}>{back.label}</a>
      </p>
    </main>
  );
}

export const backToSessions = { href: '#/', label: 'Back to the sessions' };

/** Longer than this, a screen says what it is doing. */
const patienceMs = 1000;

/** While a screen opens: empty at first, then with what is under way, what it may be waiting for, and the way back. */
export function OpeningScreen({ what, back }: { what: string; back: { href: string; label: string } }) {
  const [slow, setSlow] = useState(false);
  useEffect(() => {
    const timer = setTimeout(() => setSlow(true), patienceMs);
    return () => clearTimeout(timer);
  }, []);
  return (
    <>
      {slow && <NoticeList />}
      <main className="start" aria-busy="true">
        {slow && (
          <p className="row" role="status">
            {what} … <progress aria-label={what} />
            <a className="button" href={back.href} title={back.label}>
              Cancel
            </a>
          </p>
        )}
      </main>
    </>
  );
}
