import { useCallback, useEffect } from 'react';
import { isSameRater } from '../../core/review/raters/compare';
import { type ComparisonWorkspace, currentDifference } from '../../state/compare/comparing';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp, usePart } from '../app-context';
import { NoticeList } from '../controls/notices';
import { KeysLine } from '../review/keys-line';
import { SavingState, SentWords } from '../review/review-head';
import { ReviewStrip } from '../review/strip-view';
import { createCompareModel } from './compare-strip-model';
import { CompareTable } from './compare-table';
import { Differences } from './differences';
import { CompareDialogs } from './settle-dialogs';
import { PairChoice, SettlePanel } from './settle-panel';
import { SpotCheckPanel } from './spot-check';
import { useComparison } from './use-comparison';

/** Strip above; the current difference, the list and the table below. */
export function CompareWorkspace() {
  const app = useApp();
  const workspace = useComparison();
  const { comparing } = workspace;
  usePart(workspace.review.store, s => s.replayed);
  // The strip follows the view and the review; a new pair or difference has to reach it as well.
  useEffect(() => comparing.store.subscribe(() => workspace.view.setState({})), [comparing, workspace]);
  const modelOf = useCallback(() => createCompareModel(workspace, app), [workspace, app]);
  const compared = comparing.logs();
  return (
    <main className="workspace compare-workspace">
      <CompareHead />
      <NoticeList />
      {compared ? (
        <>
          <ReviewStrip modelOf={modelOf} />
          <aside className="compare-side" aria-label="Differences">
            <SettlePanel />
            <div className="compare-lists">
              <Differences />
              <SpotCheckPanel />
            </div>
          </aside>
          <div className="compare-numbers">
            {compared.grown && (
              <p className="needs">A review was continued after settling began. Later changes are left out here.</p>
            )}
            <CompareTable />
          </div>
        </>
      ) : (
        <p className="compare-none" data-testid="nothing-to-compare">
          {comparing.settling()
            ? 'The reviews as they were when settling began are not in this browser. Open the bundle that holds them.'
            : 'There are no two finished reviews to compare yet. Open the other rater’s bundle on the start page.'}
        </p>
      )}
      <KeysLine idsOf={() => idsNow(workspace)} />
      <CompareDialogs />
    </main>
  );
}

function CompareHead() {
  const app = useApp();
  const workspace = useComparison();
  const { comparing } = workspace;
  const session = usePart(workspace.review.store, s => s.session);
  usePart(comparing.store, s => s.pair);
  const recordingId = usePart(workspace.view, v => v.recordingId);
  const logs = comparing.logs();
  const { recorder } = session.recordings.find(r => r.recording.id === recordingId)!.recording;
  const supervises = comparing.viewer.role === 'adjudicator';
  const leave = () => {
    const { [session.id]: _, ...rest } = app.prefs.getState().supervises;
    app.prefs.change({ supervises: rest });
  };
  return (
    <header className="workspace-head">
      <a href={hashOfScreen({ name: 'start' })}>Sessions</a>
      <h1>{session.title}</h1>
      <PairChoice />
      <span className="soft">
        {logs && isSameRater(logs.a.header, logs.b.header) ? 'the same rater at two times · ' : ''}
        {recorder} · {supervises ? `supervisor ${comparing.viewer.rater}` : `seen by ${comparing.viewer.rater}`}
      </span>
      <span className="spring" />
      {supervises && <SavingState />}
      {supervises && <SentWords />}
      <button type="button" onClick={() => app.runCommand('recorder.other')} disabled={session.recordings.length < 2}>
        Other recorder
      </button>
      {supervises ? (
        <>
          <button type="button" onClick={() => app.runCommand('settle.finish')}>
            Finish settling
          </button>
          <button type="button" className="quiet" onClick={leave}>
            Leave settling
          </button>
        </>
      ) : (
        <>
          <button type="button" onClick={() => app.ui.openDialog('supervisor')}>
            Settle as supervisor …
          </button>
          <a href={hashOfScreen({ name: 'review', sessionId: session.id })}>Review</a>
        </>
      )}
      <button type="button" onClick={() => app.ui.openDialog('export')}>
        Export
      </button>
      <button type="button" onClick={() => app.ui.openDialog('help')}>
        Keys
      </button>
    </header>
  );
}

function idsNow(workspace: ComparisonWorkspace): readonly string[] {
  const walking = ['difference.next', 'difference.previous', 'mark.next', 'page.next', 'zoom.in', 'zoom.out'];
  const { comparing } = workspace;
  if (workspace.view.getState().spanStart !== null) return ['span.unreadable', 'caret.right', 'caret.left', 'cancel'];
  if (!comparing.settling()) return [...walking, 'guidance.open', 'help.open'];
  if (comparing.store.getState().checking >= 0) return ['spot.checked', ...editing, 'edit.undo', 'help.open'];
  const settle = currentDifference(workspace)
    ? ['settle.a', 'settle.b', 'settle.placed', 'settle.reason', ...editing]
    : [];
  return [...settle, 'difference.open', ...walking.slice(0, 2), 'spot.next', 'edit.undo', 'help.open'];
}

const editing = ['mark.insert', 'mark.remove', 'mark.left', 'mark.right', 'span.unreadable'];
