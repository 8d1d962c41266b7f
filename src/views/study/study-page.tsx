import { useCallback, useEffect, useState } from 'react';
import { keepAll } from '../../core/review/privacy/identifying';
import { leavesOut } from '../../core/review/privacy/leaving-study';
import type { BoardRow } from '../../core/review/study/board';
import type { Study } from '../../core/review/study/study';
import { errorMessage } from '../../state/error-message';
import { download } from '../../state/export/exporting';
import { passphraseProblem } from '../../state/export/locking';
import { hashOfScreen } from '../../state/stores/ui-store';
import { studyFile } from '../../state/study/studies';
import { openAnalysis } from '../../workers/analysis';
import { useApp, usePart } from '../app-context';
import { LeavingFields } from '../controls/leaving-fields';
import { NewPassphraseFields, noPassphrase } from '../controls/new-passphrase';
import { CodeForm } from '../controls/rater-code';
import { StudyBoard } from './study-board';
import { StudyFields } from './study-fields';
import { StudyImport } from './study-import';

/** One open study: how far it is, its files, its shared settings. */
export function StudyPage({ study, onChange }: { study: Study; onChange: () => void }) {
  const app = useApp();
  const [rows, setRows] = useState<readonly BoardRow[] | null>(null);
  const [busy, setBusy] = useState(false);
  const [handling, setHandling] = useState(keepAll);
  const [lock, setLock] = useState(noPassphrase);
  const wrongLock = passphraseProblem(lock.passphrase, lock.again) !== null;
  // What a bundle may hold depends on who exports it.
  const hasCode = usePart(app.prefs, p => p.rater !== '');
  const [asking, setAsking] = useState(false);
  useEffect(() => {
    const analysis = openAnalysis();
    analysis.start('board', { sessionIds: study.sessions }).done.then(setRows, (error: Error) => {
      if (error.name !== 'Cancelled') app.ui.notify(errorMessage(error));
    });
    return () => analysis.close();
  }, [app, study]);
  const give = useCallback(async () => {
    setBusy(true);
    try {
      download([await studyFile(app, study, handling, lock.passphrase)]);
    } catch (error) {
      app.ui.notify(errorMessage(error));
    }
    setBusy(false);
  }, [app, study, handling, lock]);
  return (
    <>
      <div className="row">
        <a className="button" href={hashOfScreen({ name: 'report', sessionId: study.id })}>
          Report
        </a>
        <button
          type="button"
          disabled={busy || wrongLock || study.sessions.length === 0}
          onClick={() => (hasCode ? void give() : setAsking(true))}
        >
          {busy ? 'Writing …' : 'Export the study as one bundle'}
        </button>
      </div>
      <details>
        <summary>
          {leavesOut(handling)
            ? 'The bundle leaves out some of what identifies people'
            : 'Leave out of the bundle what identifies people'}
        </summary>
        <LeavingFields value={handling} onChange={setHandling} />
        <p className="small soft">
          The same code, name or activity is called the same in all its sessions. Such a bundle opens on its own and is
          not merged into this study again. The ECG itself stays.
        </p>
      </details>
      <details>
        <summary>{lock.passphrase === '' ? 'Lock the bundle with a passphrase' : 'The bundle is locked'}</summary>
        <NewPassphraseFields label="passphrase, empty for an open bundle" value={lock} onChange={setLock} />
      </details>
      {asking && !hasCode && <CodeForm onChosen={() => void give()} />}
      {rows === null ? <p role="status">Reading the sessions …</p> : <StudyBoard study={study} rows={rows} />}
      <StudyImport study={study} onChange={onChange} />
      <StudyFields key={study.sessions.join()} study={study} onChange={onChange} />
    </>
  );
}
