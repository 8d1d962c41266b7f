import { useState } from 'react';
import { perform } from '../../commands/perform';
import { takeRating } from '../../commands/settle';
import { unsettled } from '../../core/review/raters/settle';
import { reviewOf } from '../../state/review/review-store';
import { useApp, usePart } from '../app-context';
import { Sheet } from '../controls/dialog';
import { DialogHost } from '../dialogs/host';
import { SpotCheckDialog, spotCheckWords } from './spot-check';
import { SupervisorDialog } from './supervisor';
import { useComparison } from './use-comparison';

export function CompareDialogs() {
  const app = useApp();
  const dialog = usePart(app.ui, s => s.dialog);
  switch (dialog) {
    case 'finish':
      return <FinishSettlingDialog />;
    case 'settle with reason':
      return <ReasonDialog />;
    case 'spot check':
      return <SpotCheckDialog />;
    case 'supervisor':
      return <SupervisorDialog />;
    default:
      return <DialogHost />;
  }
}

function ReasonDialog() {
  const app = useApp();
  const workspace = useComparison();
  const [reason, setReason] = useState('');
  const [problem, setProblem] = useState('');
  const close = () => app.ui.openDialog(null);
  const settle = (answer: 'A' | 'B' | 'new') => () => {
    if (takeRating(workspace, app, answer, reason)) close();
    else setProblem(app.ui.getState().said);
  };
  return (
    <Sheet title="Settle with a reason" onClose={close}>
      <div className="sheet-body">
        <label className="field">
          <span>reason, for the audit trail</span>
          <textarea data-focus rows={2} value={reason} onChange={e => setReason(e.target.value)} />
        </label>
        {problem && (
          <p className="needs" role="alert">
            {problem}
          </p>
        )}
        <div className="row end">
          <button type="button" onClick={settle('A')}>
            Take A
          </button>
          <button type="button" onClick={settle('B')}>
            Take B
          </button>
          <button type="button" onClick={settle('new')}>
            Use this position
          </button>
        </div>
      </div>
    </Sheet>
  );
}

function FinishSettlingDialog() {
  const app = useApp();
  const workspace = useComparison();
  const { comparing } = workspace;
  const { session, replayed } = usePart(workspace.review.store, s => s);
  const close = () => app.ui.openDialog(null);
  const left = session.recordings
    .map(({ recording }) => {
      const comparison = comparing.comparisonOf(recording.id);
      return { recording, n: comparison ? unsettled(comparison, reviewOf({ replayed }, recording.id)).length : 0 };
    })
    .filter(r => r.n > 0);
  const spot = spotCheckWords(workspace);
  const finish = () => {
    if (perform(workspace, app, 'finish', [], 'Settling is finished.', { recording: '' })) app.ui.sheetDone();
  };
  return (
    <Sheet title="Finish settling" onClose={close}>
      <div className="sheet-body">
        {replayed.finished && <p>Settling is finished. Reopening it needs a reason.</p>}
        {left.map(({ recording, n }) => (
          <p key={recording.id}>
            {recording.recorder}: {n} {n === 1 ? 'difference waits' : 'differences wait'} for an answer.
          </p>
        ))}
        {left.length === 0 && !replayed.finished && <p>Every difference is settled.</p>}
        <p>Spot check: {spot ? spot.words : 'none was made.'}</p>
        {spot?.done === false && !replayed.finished && (
          <p className="needs">A spot check that was begun is completed before settling is finished.</p>
        )}
        {!spot && !replayed.finished && (
          <p>
            <button type="button" onClick={() => app.ui.openDialog('spot check')}>
              Make a spot check
            </button>
          </p>
        )}
        <div className="row end">
          <button
            type="button"
            className="chief"
            disabled={replayed.finished || left.length > 0 || spot?.done === false}
            onClick={finish}
          >
            Finish
          </button>
        </div>
      </div>
    </Sheet>
  );
}
