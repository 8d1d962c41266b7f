import { type ReactNode, useState } from 'react';
import { keepAll } from '../../core/review/privacy/identifying';
import { leavesOut } from '../../core/review/privacy/leaving-study';
import type { Study } from '../../core/review/study/study';
import { errorMessage } from '../../state/error-message';
import { download } from '../../state/export/exporting';
import { passphraseProblem } from '../../state/export/locking';
import { type BlindSession, saveUnblinding } from '../../state/review/unblinding';
import { shownByExport, studyFile } from '../../state/study/studies';
import { useApp, usePart } from '../app-context';
import { LeavingFields } from '../controls/leaving-fields';
import { NewPassphraseFields, noPassphrase } from '../controls/new-passphrase';
import { CodeForm } from '../controls/rater-code';

type Asking = 'nothing' | 'code' | readonly BlindSession[];

/** Takes the study along as one file. What that may hold depends on who exports it, so a code is needed. */
function useStudyExport(study: Study) {
  const app = useApp();
  const rater = usePart(app.prefs, p => p.rater);
  const [busy, setBusy] = useState(false);
  const [handling, setHandling] = useState(keepAll);
  const [lock, setLock] = useState(noPassphrase);
  const [asking, setAsking] = useState<Asking>('nothing');
  const attempt = async (act: () => Promise<void>) => {
    setBusy(true);
    setAsking('nothing');
    await act().catch(error => app.ui.notify(errorMessage(error)));
    setBusy(false);
  };
  const write = async (hidden: readonly BlindSession[]) =>
    download([await studyFile(app, study, handling, lock.passphrase, new Set(hidden.map(s => s.id)))]);
  const start = () =>
    attempt(async () => {
      const shown = await shownByExport(app, study);
      if (shown.length > 0) setAsking(shown);
      else await write([]);
    });
  const withReviews = (shown: readonly BlindSession[]) =>
    attempt(async () => {
      await saveUnblinding(app, shown, rater, 'export');
      await write([]);
    });
  return {
    rater,
    busy,
    handling,
    setHandling,
    lock,
    setLock,
    asking,
    begin: () => (rater === '' ? setAsking('code') : void start()),
    start: () => void start(),
    withReviews: (shown: readonly BlindSession[]) => void withReviews(shown),
    without: (hidden: readonly BlindSession[]) => void attempt(() => write(hidden)),
  };
}

/** The button stands in one row with what is given. */
export function StudyExport({ study, children }: { study: Study; children: ReactNode }) {
  const e = useStudyExport(study);
  const wrongLock = passphraseProblem(e.lock.passphrase, e.lock.again) !== null;
  return (
    <>
      <div className="row">
        {children}
        <button type="button" disabled={e.busy || wrongLock || study.sessions.length === 0} onClick={e.begin}>
          {e.busy ? 'Writing …' : 'Export the study as one bundle'}
        </button>
      </div>
      {e.asking === 'code' && <CodeForm onChosen={e.start} />}
      {typeof e.asking !== 'string' && (
        <Unblinding shown={e.asking} rater={e.rater} onWith={e.withReviews} onWithout={e.without} />
      )}
      <details>
        <summary>
          {leavesOut(e.handling)
            ? 'The bundle leaves out some of what identifies people'
            : 'Leave out of the bundle what identifies people'}
        </summary>
        <LeavingFields value={e.handling} onChange={e.setHandling} />
        <p className="small soft">
          The same code, name or activity is called the same in all its sessions. Such a bundle opens on its own and is
          not merged into this study again. The ECG itself stays.
        </p>
      </details>
      <details>
        <summary>
          {e.lock.passphrase === '' || wrongLock ? 'Lock the bundle with a passphrase' : 'The bundle is locked'}
        </summary>
        <NewPassphraseFields label="passphrase, empty for an open bundle" value={e.lock} onChange={e.setLock} />
      </details>
    </>
  );
}

interface UnblindingProps {
  readonly shown: readonly BlindSession[];
  readonly rater: string;
  readonly onWith: (shown: readonly BlindSession[]) => void;
  readonly onWithout: (shown: readonly BlindSession[]) => void;
}

/** Asked once: a bundle in the hands of who may still rate can be opened. */
function Unblinding({ shown, rater, onWith, onWithout }: UnblindingProps) {
  const [of, again] = shown.length === 1 ? ['a session', 'it'] : [`${shown.length} sessions`, 'these'];
  return (
    <section className="sheet-body" aria-label="Reviews by others" data-testid="unblind-export">
      <p>
        The bundle would hold reviews of {of} that {rater} has not signed off. If you export them, this is recorded, and
        a later review by {rater} of {again} says “not blind” in every table.
      </p>
      <div className="row">
        <button type="button" className="chief" onClick={() => onWithout(shown)}>
          Export without these reviews
        </button>
        <button type="button" onClick={() => onWith(shown)}>
          Export with them
        </button>
      </div>
    </section>
  );
}
