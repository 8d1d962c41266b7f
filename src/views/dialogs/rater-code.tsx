import { useState } from 'react';
import { hasRated } from '../../core/review/raters/blind';
import { whyNotReassign } from '../../core/review/raters/reassign';
import { errorMessage } from '../../state/error-message';
import { reassignReview } from '../../state/review/reassigning';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp, usePart, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';
import { CodeField } from '../controls/rater-code';

/** Whose review it is, and how it goes to the right code when it was begun under a wrong one. */
export function RaterCodeDialog() {
  const app = useApp();
  const { review } = useWorkspace();
  const log = usePart(review.store, s => s.log);
  const account = usePart(app.labStore.store, s => (s.signedIn?.role === 'rater' ? s.signedIn.user : null));
  const { rater } = log.header;
  const whyNot =
    account === null
      ? whyNotReassign(log)
      : `You are signed in to the lab store as ${account}: reviews are signed with the account.`;
  return (
    <Sheet title={`Review of ${rater}`} onClose={() => app.ui.openDialog(null)}>
      {whyNot === null ? (
        <Reassign begun={hasRated(log)} from={rater} />
      ) : (
        <p className="sheet-body">
          This review is signed with the code {rater}. {whyNot}
        </p>
      )}
    </Sheet>
  );
}

function Reassign({ begun, from }: { begun: boolean; from: string }) {
  const app = useApp();
  const workspace = useWorkspace();
  const [code, setCode] = useState('');
  const [problem, setProblem] = useState('');
  const [busy, setBusy] = useState(false);
  const reassign = async () => {
    setBusy(true);
    try {
      await reassignReview(app, workspace, code);
      app.ui.openDialog(null);
      location.hash = hashOfScreen({ name: 'start' });
      const { title } = workspace.review.get().session;
      app.ui.notify(`${title}: the review is signed with ${code} now. Open it again to go on.`, 'done');
    } catch (error) {
      setProblem(errorMessage(error));
      setBusy(false);
    }
  };
  return (
    <form
      className="sheet-body"
      onSubmit={event => {
        event.preventDefault();
        if (!busy) void reassign();
      }}
    >
      <p>
        This review is signed with the code {from}. Was that the wrong one?{' '}
        {begun && 'Before it is signed off, the whole review can be reassigned. '}
        {begun && 'This is recorded in its log, and every table says “reassigned from '}
        {begun && `${from}”.`} This browser then reviews under the new code.
      </p>
      <CodeField label="right code" value={code} onChange={setCode} testId="right-code" />
      {problem && (
        <p className="needs" role="alert">
          {problem}
        </p>
      )}
      <div className="row end">
        <button type="submit" className="chief" disabled={busy || !/[A-Za-z0-9]/.test(code)}>
          {begun ? 'Reassign this review' : 'Use this code'}
        </button>
      </div>
    </form>
  );
}
