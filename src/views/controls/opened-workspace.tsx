import { useEffect, useState } from 'react';
import { leaveDesk } from '../../state/review/opening';
import type { Desk } from '../../state/review/workspace';
import { useApp, usePart } from '../app-context';

/**
 * Opens a desk when its screen appears and leaves it when the screen goes, whichever comes first. `open` runs once: give
 * the screen a React key of all it depends on. It may answer null where there is nothing to open.
 */
export function useOpenedDesk(open: () => Promise<Desk | null>): { desk: Desk | null; problem: string } {
  const app = useApp();
  const desk = usePart(app.desk, d => d.desk);
  const [problem, setProblem] = useState('');
  // biome-ignore lint/correctness/useExhaustiveDependencies: the screen is keyed by what `open` depends on
  useEffect(() => {
    let gone = false;
    const run = async () => {
      await app.prefs.load();
      const opened = await open();
      if (gone) await opened?.close();
      else if (opened) app.desk.setState({ desk: opened });
    };
    run().catch((error: Error) => setProblem(error.message));
    return () => {
      gone = true;
      void leaveDesk(app);
    };
  }, [app]);
  return { desk, problem };
}

/** A screen that cannot be shown, why, and the way back. */
export function Shut({ words, back }: { words: string; back: { href: string; label: string } }) {
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
