import { useState } from 'react';
import { editing, perform } from '../../commands/perform';
import { reopen, signOff } from '../../core/review/edits';
import { maySignOff, openSegments, segmentsUnderReview } from '../../core/review/standing/coverage';
import { active } from '../../state/review/workspace';
import { useApp, usePart, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';
import { KeyCap } from '../controls/key';
import { RefusedSheet, refusalOf } from '../controls/refused';

const noSegment = (act: string) => `The caret is in no segment. Go into the segment that you want to ${act}.`;

/** Signs off the segment under the caret: when all of it was looked at, or with a written reason. */
export function SignOffDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  usePart(workspace.review.store, s => s.replayed);
  const { item, review, caret } = active(workspace);
  const segment = segmentsUnderReview(item).find(s => caret >= s.start && caret < s.end);
  const [reason, setReason] = useState('');
  const close = () => app.ui.openDialog(null);
  if (!segment) return <RefusedSheet title="Sign off" why={noSegment('sign off')} onClose={close} />;
  const title = `Sign off ${segment.name}`;
  const why = refusalOf(workspace);
  if (why !== null) return <RefusedSheet title={title} why={why} onClose={close} />;
  const check = maySignOff(item, review, segment);
  const already = review.signOffs.some(s => s.segment === segment.name);
  const sign = () => {
    const built = signOff(editing(workspace), segment.name, app.now().toISOString(), reason || null);
    if (perform(workspace, app, 'sign off', built, `${segment.name} signed off.`)) app.ui.sheetDone();
  };
  return (
    <Sheet title={title} onClose={close}>
      <form
        className="sheet-body"
        onSubmit={event => {
          event.preventDefault();
          sign();
        }}
      >
        {already && (
          <p>
            This segment is signed off already. Close this and press <KeyCap id="segment.reopen" /> to reopen it.
          </p>
        )}
        {!already && check.covered && (
          <p>
            Every second was shown at a readable scale and every mark was looked at. After signing off, the segment
            takes no edits.
          </p>
        )}
        {!already && !check.covered && (
          <>
            <p>
              Not everything was looked at: {check.left}. Close this and press <KeyCap id="unseen.next" /> to go there,
              or write why the segment can be signed off as it is.
            </p>
            <label className="field">
              <span>reason</span>
              <textarea data-focus rows={2} value={reason} onChange={e => setReason(e.target.value)} />
            </label>
          </>
        )}
        <div className="row end">
          <button
            type="submit"
            className="chief"
            data-focus={check.covered || undefined}
            disabled={already || (!check.covered && reason.trim() === '')}
          >
            Sign off
          </button>
        </div>
      </form>
    </Sheet>
  );
}

/** Reopening is an act of its own, with a reason that stays in the log. */
export function ReopenDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  const { item, review, caret } = active(workspace);
  const finished = workspace.review.get().replayed.finished;
  const segment = segmentsUnderReview(item).find(s => caret >= s.start && caret < s.end);
  const [reason, setReason] = useState('');
  const close = () => app.ui.openDialog(null);
  const open = () => {
    if (finished) {
      // Finished reviews of others were shown meanwhile: what is changed from here on is not blind.
      const raters = workspace.review.get().others.map(l => l.header.rater);
      const fact = raters.length > 0 ? ({ kind: 'unblinded', by: 'comparison', raters } as const) : undefined;
      perform(workspace, app, 'restart', [], 'The review is open again.', { recording: '', reason, fact });
    } else if (segment) {
      const built = reopen(editing(workspace), segment.name, reason);
      perform(workspace, app, 'reopen', built, `${segment.name} is open again.`, { reason });
    }
    app.ui.sheetDone();
  };
  const title = finished ? 'Reopen the review' : `Reopen ${segment?.name ?? 'a segment'}`;
  const closed = finished || review.signOffs.some(s => s.segment === segment?.name);
  const notClosed = segment ? `${segment.name} is not signed off: it is open.` : noSegment('reopen');
  const why = refusalOf(workspace) ?? (closed ? null : notClosed);
  if (why !== null) return <RefusedSheet title={title} why={why} onClose={close} />;
  return (
    <Sheet title={title} onClose={close}>
      <form
        className="sheet-body"
        onSubmit={event => {
          event.preventDefault();
          open();
        }}
      >
        <label className="field">
          <span>reason, for the audit trail</span>
          <textarea data-focus rows={2} value={reason} onChange={e => setReason(e.target.value)} />
        </label>
        <div className="row end">
          <button type="submit" className="chief" disabled={reason.trim() === ''}>
            Reopen
          </button>
        </div>
      </form>
    </Sheet>
  );
}

/** Finishing freezes the log and is what other raters' work becomes visible by. */
export function FinishDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  const { session, replayed } = usePart(workspace.review.store, s => s);
  const open = openSegments(session, replayed.recordings);
  const close = () => app.ui.openDialog(null);
  const why = refusalOf(workspace);
  if (why !== null) return <RefusedSheet title="Finish the review" why={why} onClose={close} />;
  const recorder = (id: string) => session.recordings.find(r => r.recording.id === id)!.recording.recorder;
  const finish = () => {
    if (perform(workspace, app, 'finish', [], 'The review is finished.', { recording: '' })) app.ui.sheetDone();
  };
  return (
    <Sheet title="Finish the review" onClose={close}>
      <div className="sheet-body">
        {replayed.finished && <p>This review is finished. Reopening it needs a reason.</p>}
        {!replayed.finished && open.length > 0 && (
          <>
            <p>These segments are not signed off yet:</p>
            <ul>
              {open.map(o => (
                <li key={`${o.recording} ${o.segment.name}`}>
                  {recorder(o.recording)}: {o.segment.name}
                </li>
              ))}
            </ul>
          </>
        )}
        {!replayed.finished && open.length === 0 && (
          <p>
            Every segment is signed off. Finishing freezes this log; after that the reviews of other raters can be
            compared with it.
          </p>
        )}
        <div className="row end">
          <button
            type="button"
            className="chief"
            data-focus
            disabled={replayed.finished || open.length > 0}
            onClick={finish}
          >
            Finish
          </button>
        </div>
      </div>
    </Sheet>
  );
}
