import { useCallback, useEffect, useRef, useState } from 'react';
import { newBoardMemory, readBoard } from '../../state/sharing/board';
import type { BoardLine } from '../../state/sharing/board-line';
import { remoteWords, type SignedIn } from '../../state/sharing/lab-store';
import { useApp } from '../app-context';
import { AssignForm } from './assign-form';
import { Board } from './board';
import { Certificates } from './certificates';

/** Between two looks at the store. */
const pollMs = 15_000;

/** What a supervisor or an auditor sees: the board, live; for a supervisor also how to assign. */
export function Supervise({ signedIn }: { signedIn: SignedIn }) {
  const { lines, problem, read, look } = useBoard(signedIn);
  return (
    <>
      {problem !== '' && (
        <p role="alert" className="needs">
          The board is not current: {problem}.
        </p>
      )}
      {lines === null && problem === '' && (
        <p role="status">Reading the store{read && `: ${read.done} of ${read.total} assignments`} …</p>
      )}
      {lines && lines.length > 0 && <Board lines={lines} signedIn={signedIn} onChange={look} />}
      {lines?.length === 0 && <NothingYet signedIn={signedIn} />}
      {signedIn.role === 'supervisor' && <AssignForm signedIn={signedIn} onAssigned={look} />}
      <Certificates />
    </>
  );
}

function NothingYet({ signedIn: { study, isNew } }: { signedIn: SignedIn }) {
  if (!isNew) return <p>Nothing is assigned in this study yet.</p>;
  return (
    <p className="needs">
      The store has no study {study} yet: it begins with the first session that you assign. If another study was meant,
      sign out and sign in with its name.
    </p>
  );
}

function useBoard(signedIn: SignedIn) {
  const app = useApp();
  const memory = useRef(newBoardMemory());
  const looking = useRef<Promise<void> | null>(null);
  const [lines, setLines] = useState<readonly BoardLine[] | null>(null);
  const [read, setRead] = useState<{ readonly done: number; readonly total: number } | null>(null);
  const [problem, setProblem] = useState('');
  const lookOnce = useCallback(async () => {
    try {
      const tell = (done: number, total: number) => done % 50 === 0 && setRead({ done, total });
      setLines(await readBoard(app.library, signedIn, memory.current, tell));
      setProblem('');
    } catch (error) {
      setProblem(remoteWords(error));
    }
  }, [app, signedIn]);
  // A first look may take longer than the time between two: one at a time, and after an act one that begins after it.
  const look = useCallback(async () => {
    await looking.current;
    looking.current ??= lookOnce().finally(() => {
      looking.current = null;
    });
    await looking.current;
  }, [lookOnce]);
  useEffect(() => {
    void look();
    const timer = setInterval(() => looking.current ?? void look(), pollMs);
    return () => clearInterval(timer);
  }, [look]);
  return { lines, problem, read, look };
}
