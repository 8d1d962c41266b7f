import { useCallback, useEffect, useState } from 'react';
import { errorMessage } from '../../state/error-message';
import type { CatalogueEntry } from '../../storage/sessions';
import { useApp } from '../app-context';
import { ChooseFiles } from '../controls/choose-files';
import { DropPlace } from '../controls/drop-place';
import { NoticeList } from '../controls/notices';
import { OwnCodeField } from '../controls/rater-code';
import { CopiesPanel } from './copies';
import { InterruptedImports } from './interrupted';
import { SampleList } from './sample-list';
import { SessionList } from './session-list';

/** The first page: what this is, sessions to open, where the data stays. */
export function Start() {
  const app = useApp();
  const [sessions, setSessions] = useState<readonly CatalogueEntry[] | null>(null);
  const refresh = useCallback(() => {
    app.library.sessions().then(setSessions, (error: Error) => {
      setSessions([]);
      app.ui.notify(errorMessage(error));
    });
  }, [app]);
  useEffect(refresh, [refresh]);
  const hasSessions = sessions !== null && sessions.length > 0;
  return (
    <>
      <NoticeList />
      <main className="start">
        <header className="start-head">
          <div>
            <h1>Beat Ledger</h1>
            <p>
              Review the R-peak marks of an ECG, correct them by keyboard, and see what share of the RR intervals is
              right.
            </p>
          </div>
          <OwnCodeField label="your rater code" />
        </header>
        <InterruptedImports />
        {/* In sight however long the list of sessions is. It stays the same element: a file may be on its way to it. */}
        <section aria-labelledby="own" className="own-bar">
          <h2 id="own">Open your own</h2>
          <OpenYourOwn onDone={refresh} short={hasSessions} />
        </section>
        {hasSessions && (
          <section aria-labelledby="kept">
            <h2 id="kept">Sessions in this browser</h2>
            <SessionList sessions={sessions} onChange={refresh} />
          </section>
        )}
        <div className="start-lines">
          <section aria-labelledby="samples">
            <h2 id="samples">Sample sessions</h2>
            <SampleList kept={sessions ?? []} onDone={refresh} />
          </section>
          <section aria-labelledby="copies">
            <h2 id="copies">Backup copies in a folder</h2>
            <CopiesPanel onRestored={refresh} />
          </section>
          <section aria-labelledby="more">
            <h2 id="more">Practice, study, report</h2>
            <ul>
              <li>
                <a href="#/practice">Practice</a>: find planted mistakes and learn what gives them away
              </li>
              <li>
                <a href="#/study">Study</a>: many volunteers, recorders and activities, one report
              </li>
              <li>
                <a href="#/lab-store">Lab store</a>: assignments and reviews shared over your lab’s own server
              </li>
            </ul>
            <p className="row">
              <button type="button" onClick={() => app.ui.openDialog('help')}>
                What the keys do
              </button>
              <button type="button" onClick={() => app.ui.openDialog('self-check')}>
                Run self-check
              </button>
            </p>
          </section>
        </div>
        <div className="caution">
          <p>
            For research and teaching on signal quality. Not a medical device; not for diagnosis, monitoring or
            treatment. If you see a possible abnormal rhythm, follow your study’s procedure for incidental findings.
          </p>
          <p>
            Recordings stay in this browser on this computer. Nothing is sent anywhere; share work by exporting a
            bundle.
          </p>
        </div>
      </main>
    </>
  );
}

/** Drop files or choose them; what they are is found out from their contents. */
function OpenYourOwn({ onDone, short = false }: { onDone: () => void; short?: boolean }) {
  const app = useApp();
  const take = (files: File[]) => {
    if (files.length > 0) void app.importFiles(files).then(onDone);
  };
  return (
    <DropPlace onDrop={dropped => take([...dropped.files])}>
      <p>
        {short
          ? 'Drop recordings, marks, segments or bundles here, or'
          : 'Drop an ECG with its marks and segments here: EDF or EDF+, text tables (CSV), NumPy, MAT and Parquet files, lists of samples, times or RR intervals, raw binary, or a session bundle.'}
      </p>
      <ChooseFiles title="Choose files" chief testId="file-input" onChoose={take} />
    </DropPlace>
  );
}
