import { useState } from 'react';
import type { Session } from '../../core/review/session';
import { whyNotSettle } from '../../state/review/visibility';
import { useApp, usePart, useWorkspace } from '../app-context';
import { Sheet } from '../controls/dialog';

/** Asks for the code differences are settled under, which must be nobody's who has rated. */
export function SupervisorForm({ session }: { session: Session }) {
  const app = useApp();
  const supervises = usePart(app.prefs, p => p.supervises);
  const rater = usePart(app.prefs, p => p.rater);
  const { signedIn, assignments } = app.labStore.store.getState();
  const settles = assignments.some(a => a.session === session.id && a.place === 'settles');
  const [code, setCode] = useState((settles && signedIn?.user) || '');
  const [problem, setProblem] = useState('');
  const begin = async () => {
    const why = await whyNotSettle(app.library, session, code, rater);
    if (why) return setProblem(why);
    app.ui.openDialog(null);
    app.prefs.change({ supervises: { ...supervises, [session.id]: code } });
  };
  return (
    <form
      className="sheet-body"
      onSubmit={event => {
        event.preventDefault();
        begin().catch((error: Error) => setProblem(error.message));
      }}
    >
      <p>
        A supervisor who has not rated sees the finished reviews of this session and settles where they differ.
        Decisions go into a separate log under this code; the raters’ logs do not change.
      </p>
      <label className="row">
        supervisor’s code
        <input
          data-focus
          size={8}
          maxLength={20}
          value={code}
          data-testid="supervisor-code"
          onChange={e => setCode(e.target.value.replace(/[^A-Za-z0-9_-]/g, ''))}
        />
      </label>
      {problem && (
        <p className="needs" role="alert">
          {problem}
        </p>
      )}
      <div className="row end">
        <button type="submit" className="chief" disabled={code === ''}>
          Continue as supervisor
        </button>
      </div>
    </form>
  );
}

export function SupervisorDialog() {
  const app = useApp();
  const workspace = useWorkspace();
  const session = usePart(workspace.review.store, s => s.session);
  return (
    <Sheet title="Settle differences" onClose={() => app.ui.openDialog(null)}>
      <SupervisorForm session={session} />
    </Sheet>
  );
}
