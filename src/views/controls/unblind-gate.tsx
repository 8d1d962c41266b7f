import { type ReactNode, useEffect, useState } from 'react';
import type { UnblindedFact } from '../../core/marks/facts';
import { type BlindSession, saveUnblinding, sessionsToAskAbout } from '../../state/review/unblinding';
import { useApp } from '../app-context';
import { backToSessions, OpeningScreen } from './opened-workspace';

interface GateProps {
  readonly sessionIds: readonly string[];
  readonly rater: string;
  readonly by: UnblindedFact['by'];
  /** What is opened, in words: 'this report'. */
  readonly what: string;
  readonly children: ReactNode;
}

/** Asks once before others' reviews are shown to somebody who may still rate the same sessions. */
export function UnblindGate({ sessionIds, rater, by, what, children }: GateProps) {
  const app = useApp();
  const [asked, setAsked] = useState<readonly BlindSession[] | null>(null);
  const [problem, setProblem] = useState('');
  const key = sessionIds.join(' ');
  // A whole study is reported while parts of it are still rated; one session's reviews wait for the own one.
  const begun = by !== 'report' && asked?.some(s => s.begun);
  useEffect(() => {
    let gone = false;
    setAsked(null);
    sessionsToAskAbout(app, key === '' ? [] : key.split(' '), rater, by).then(
      found => gone || setAsked(found),
      (error: Error) => gone || setProblem(error.message),
    );
    return () => {
      gone = true;
    };
  }, [app, key, rater, by]);
  if (asked?.length === 0) return children;
  if (!asked && !problem) return <OpeningScreen what="Looking up the reviews" back={backToSessions} />;
  const open = () =>
    saveUnblinding(app, asked ?? [], rater, by).then(
      () => setAsked([]),
      (error: Error) => setProblem(error.message),
    );
  return (
    <main className="start" data-testid="unblind">
      <h1>Reviews by others</h1>
      <p>
        {what} shows reviews of sessions that {rater} has not signed off: {asked?.map(s => s.title).join('; ')}.
      </p>
      {begun && <p className="needs">The review of {rater} is not finished: other reviews stay hidden until it is.</p>}
      <p hidden={begun}>
        If you go on, this is recorded, and a later review of {asked?.length === 1 ? 'it' : 'them'} by {rater} says “not
        blind” in every table. If {rater} will rate {asked?.length === 1 ? 'it' : 'them'}, go back and finish that
        first.
      </p>
      {problem && (
        <p className="needs" role="alert">
          {problem}
        </p>
      )}
      <div className="row">
        <a href="#/">Go back</a>
        <button type="button" disabled={!asked || begun} onClick={() => void open()}>
          Show the reviews
        </button>
      </div>
    </main>
  );
}
