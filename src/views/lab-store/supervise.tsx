import { useCallback, useEffect, useRef, useState } from 'react';
import { type BoardLine, newBoardMemory, readBoard } from '../../state/sharing/board';
import { remoteWords, type SignedIn } from '../../state/sharing/lab-store';
import { useApp } from '../app-context';
import { AssignForm } from './assign-form';
import { Board } from './board';

/** Between two looks at the store. */
const pollMs = 15_000;

/** What a supervisor or an auditor sees: the board, live; for a supervisor also how to assign. */
export function Supervise({ signedIn }: { signedIn: SignedIn }) {
  const app = useApp();
  const memory = useRef(newBoardMemory());
  const [lines, setLines] = useState<readonly BoardLine[] | null>(null);
  const [problem, setProblem] = useState('');
  const look = useCallback(async () => {
    try {
      setLines(await readBoard(app.library, signedIn, memory.current));
      setProblem('');
    } catch (error) {
      setProblem(remoteWords(error));
    }
  }, [app, signedIn]);
  useEffect(() => {
    void look();
    const timer = setInterval(() => void look(), pollMs);
    return () => clearInterval(timer);
  }, [look]);
  return (
    <>
      {problem !== '' && (
        <p role="alert" className="needs">
          The board is not current: {problem}.
        </p>
      )}
      {lines && lines.length > 0 && <Board lines={lines} signedIn={signedIn} onChange={look} />}
      {lines?.length === 0 && <p>Nothing is assigned in this study yet.</p>}
      {signedIn.role === 'supervisor' && <AssignForm signedIn={signedIn} onAssigned={look} />}
    </>
  );
}
