import { useState } from 'react';
import { isFinished, type Viewer } from '../../core/review/raters/blind';
import type { Session } from '../../core/review/session';
import { openComparing } from '../../state/compare/comparing';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp, usePart, WorkspaceContext } from '../app-context';
import { NoticeList } from '../controls/notices';
import { backToSessions, OpeningScreen, UnavailableScreen, useOpenedWorkspace } from '../controls/opened-workspace';
import { UnblindGate } from '../controls/unblind-gate';
import { CompareWorkspace } from './compare-workspace';
import { SupervisorForm } from './supervisor';
import './compare.css';

/** Why nothing may be compared yet, in words. */
interface Closed {
  readonly session: Session;
  readonly why: string;
}

/** Two reviews side by side, for those who may see them: raters who have finished, and a supervisor. */
export function Compare({ sessionId }: { sessionId: string }) {
  const app = useApp();
  const rater = usePart(app.prefs, p => p.rater);
  const supervisor = usePart(app.prefs, p => p.supervises[sessionId]);
  const viewer: Viewer = supervisor ? { rater: supervisor, role: 'adjudicator' } : { rater, role: 'rater' };
  const shown = <CompareAs key={`${viewer.role} ${viewer.rater}`} sessionId={sessionId} viewer={viewer} />;
  if (!supervisor) return shown;
  // Whoever settles under one code may rate under another: the code that rates here is asked for.
  return (
    <UnblindGate sessionIds={[sessionId]} rater={rater} by="comparison" what="The comparison">
      {shown}
    </UnblindGate>
  );
}

function CompareAs({ sessionId, viewer }: { sessionId: string; viewer: Viewer }) {
  const app = useApp();
  const [closed, setClosed] = useState<Closed | null>(null);
  const { workspace, problem } = useOpenedWorkspace(async left => {
    const session = await app.library.session(sessionId);
    if (!session) throw new Error('This session is not stored in this browser. Open its bundle again.');
    const why = await whyClosed(app, session, viewer);
    if (!why) return openComparing(app, session, viewer, left);
    setClosed({ session, why });
    return null;
  });
  if (problem) return <UnavailableScreen words={problem} back={backToSessions} />;
  if (closed) return <Gate {...closed} viewer={viewer} />;
  if (!workspace) return <OpeningScreen what="Comparing the reviews" back={backToSessions} />;
  return (
    <WorkspaceContext value={workspace}>
      <CompareWorkspace />
    </WorkspaceContext>
  );
}

/** A rater whose own review is open reads that it is, and of the others only that they wait. */
async function whyClosed(app: ReturnType<typeof useApp>, session: Session, viewer: Viewer): Promise<string | null> {
  if (viewer.role === 'adjudicator') return null;
  const own = await app.library.log(session.id, viewer.rater);
  if (own?.header.role === 'adjudicator') return `${viewer.rater} settles differences in this session.`;
  if (own && isFinished(own)) return null;
  return own && own.entries.length > 0
    ? `The review of ${viewer.rater} is not finished: other reviews stay hidden until it is.`
    : `${viewer.rater} has not reviewed this session: raters see other reviews only after finishing their own.`;
}

function Gate({ session, why, viewer }: Closed & { viewer: Viewer }) {
  return (
    <>
      <NoticeList />
      <main className="start">
        <h1>Compare: {session.title}</h1>
        <p data-testid="closed">{why}</p>
        <p>
          <a href={hashOfScreen({ name: 'review', sessionId: session.id })}>Go to the review of {viewer.rater}</a> or{' '}
          <a href="#/">back to the sessions</a>
        </p>
        <section aria-labelledby="supervise">
          <h2 id="supervise">Settle differences as supervisor</h2>
          <SupervisorForm session={session} />
        </section>
      </main>
    </>
  );
}
