import { useEffect, useState } from 'react';
import { hasRated } from '../../core/review/raters/blind';
import type { Study } from '../../core/review/study/study';
import { hashOfScreen } from '../../state/stores/ui-store';
import { listStudies } from '../../state/study/studies';
import { useApp, usePart, useWorkspace } from '../app-context';
import { sentWords } from '../controls/sent-words';
import { scaleWords } from '../strip-chart/paint/static-layer';

/** Which session, whose review, how it is shown, and whether it is saved. */
export function ReviewHead() {
  const app = useApp();
  const workspace = useWorkspace();
  const session = usePart(workspace.review.store, s => s.session);
  const rater = usePart(workspace.review.store, s => s.log.header.rater);
  const view = usePart(workspace.view, v => v);
  const recording = session.recordings.find(r => r.recording.id === view.recordingId)!.recording;
  const lead = view.leads === 'all' ? 'all leads' : `lead ${recording.leads[view.leads]?.name ?? ''}`;
  return (
    <header className="workspace-head steady">
      <a href={hashOfScreen({ name: 'start' })}>Sessions</a>
      <StudyLink sessionId={session.id} />
      <h1>{session.title}</h1>
      <RaterButton rater={rater} />
      <span className="soft how">
        <span className="how-shown">
          {' '}
          · {recording.recorder}, {lead} · {scaleWords(view).join(', ')}
        </span>
      </span>
      <span className="spring" />
      <SavingState />
      <SentWords />
      <Copied />
      <CompareLink />
      <button type="button" onClick={() => app.runCommand('recorder.other')} disabled={session.recordings.length < 2}>
        Other recorder
      </button>
      <button type="button" onClick={() => app.runCommand('segment.signOff')}>
        Sign off
      </button>
      <button type="button" onClick={() => app.ui.openDialog('export')}>
        Export
      </button>
      <button type="button" onClick={() => app.ui.openDialog('settings')}>
        Settings
      </button>
      <button type="button" onClick={() => app.ui.openDialog('help')}>
        Keys
      </button>
    </header>
  );
}

/** Whose review it is; a wrong code is put right where it is read. */
function RaterButton({ rater }: { rater: string }) {
  const app = useApp();
  const { purpose } = useWorkspace();
  if (purpose !== 'review') return <span className="soft">rater {rater}</span>;
  return (
    <button type="button" className="quiet" title="Wrong code?" onClick={() => app.ui.openDialog('rater code')}>
      rater {rater}
    </button>
  );
}

/** Back to the board of the study that the session is in; nothing where it is in none. */
function StudyLink({ sessionId }: { sessionId: string }) {
  const app = useApp();
  const [study, setStudy] = useState<Study | null>(null);
  useEffect(() => {
    // The way back is a convenience: where the list cannot be read, the sessions are still there.
    listStudies(app.library).then(
      all => setStudy(all.find(s => s.sessions.includes(sessionId)) ?? null),
      () => undefined,
    );
  }, [app, sessionId]);
  if (!study) return null;
  return (
    <a className="to-study" href={hashOfScreen({ name: 'study', studyId: study.id })} title={study.title}>
      Study
    </a>
  );
}

/** Other reviews can be compared once this one is finished; before that nothing says that they exist. */
function CompareLink() {
  const workspace = useWorkspace();
  const session = usePart(workspace.review.store, s => s.session);
  const others = usePart(workspace.review.store, s => s.others);
  const finished = usePart(workspace.review.store, s => s.replayed.finished);
  if (!finished || others.length === 0) return null;
  return (
    <a className="to-compare" href={hashOfScreen({ name: 'compare', sessionId: session.id })}>
      Compare with other reviews
    </a>
  );
}

/** How the review stands in the lab's store; nothing for who is not signed in to one, or while there is nothing to send. */
export function SentWords() {
  const app = useApp();
  const workspace = useWorkspace();
  const session = usePart(workspace.review.store, s => s.session.id);
  const rater = usePart(workspace.review.store, s => s.log.header.rater);
  const empty = usePart(workspace.review.store, s => s.log.entries.length === 0);
  // Of the account's own review: what is open under another code is not sent.
  const assigned = usePart(
    app.labStore.store,
    s => s.signedIn?.user === rater && s.assignments.some(a => a.session === session),
  );
  const sent = usePart(app.labStore.store, s => s.sent[session]);
  const signedOff = usePart(app.labStore.store, s => s.signedOff.has(session));
  if (!assigned || (!sent && empty)) return null;
  return (
    <span className={`kept-elsewhere ${sent?.state === 'not sent' ? 'needs' : 'soft'}`} data-testid="sent">
      {sentWords(sent)}
      {signedOff ? ' · signed off' : ''}
    </span>
  );
}

/** How far the copy in the person's own folder is; nothing where there is no folder. */
function Copied() {
  const app = useApp();
  const workspace = useWorkspace();
  const folder = usePart(app.backupFolder.store, s => s);
  const count = usePart(workspace.review.store, s => s.log.entries.length);
  if (folder.access !== 'open' || workspace.purpose === 'reading') return null;
  const { copiedEntries: copied } = folder;
  const words = folder.problem ? 'not copied' : copied === count ? 'copied' : `copied up to entry ${copied ?? 0}`;
  return (
    <span
      className={`kept-elsewhere ${folder.problem ? 'needs' : 'soft'}`}
      data-testid="copied"
      title={`to the folder ${folder.name}`}
    >
      {words}
    </span>
  );
}

/** Saved means: the browser has confirmed that the entry is on disk. */
export function SavingState() {
  const workspace = useWorkspace();
  const saving = usePart(workspace.review.store, s => s.saving);
  const access = usePart(workspace.review.store, s => s.access);
  // What was only looked at so far is not stored: a log begins with the first act.
  const count = usePart(workspace.review.store, s => (hasRated(s.log) ? s.log.entries.length : 0));
  const finished = usePart(workspace.review.store, s => s.replayed.finished);
  const app = useApp();
  const memoryOnly = usePart(app.ui, s => s.memoryOnly);
  if (!access.writable) return <span className="needs">read-only: {access.why}</span>;
  if (saving.failure) {
    return (
      <span className="needs" role="alert">
        not saved: {saving.failure}{' '}
        <button type="button" onClick={workspace.review.retry}>
          Try again
        </button>
      </span>
    );
  }
  return (
    <span className={memoryOnly ? 'needs' : 'soft'} data-testid="saving">
      {saving.waiting > 0
        ? 'saving …'
        : `${memoryOnly ? 'in this tab only' : 'saved'}, ${count} ${count === 1 ? 'entry' : 'entries'}`}
      {finished ? ' · review finished' : ''}
    </span>
  );
}
