import { useCallback, useEffect, useState } from 'react';
import { clock } from '../../state/clocks/text';
import { errorMessage } from '../../state/error-message';
import { hashOfScreen } from '../../state/stores/ui-store';
import type { CatalogueEntry } from '../../storage/sessions';
import { useApp, usePart } from '../app-context';
import { ChooseFiles } from '../controls/choose-files';
import { DropPlace } from '../controls/drop-place';
import { NoticeList } from '../controls/notices';
import { CodeField } from '../controls/rater-code';
import { RemoveButton } from '../controls/remove-button';
import { CopiesPanel } from './copies';
import { InterruptedImports } from './interrupted';
import { SampleList } from './sample-list';
import { SessionRaters } from './session-raters';

/** The first page: what this is, sessions to open, where the data stays. */
export function Start() {
  const app = useApp();
  const rater = usePart(app.prefs, p => p.rater);
  const account = usePart(app.labStore.store, s => (s.signedIn?.role === 'rater' ? s.signedIn.user : null));
  const [sessions, setSessions] = useState<readonly CatalogueEntry[] | null>(null);
  const refresh = useCallback(() => {
    app.library.sessions().then(setSessions, (error: Error) => {
      setSessions([]);
      app.ui.notify(errorMessage(error));
    });
  }, [app]);
  useEffect(refresh, [refresh]);
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
          <CodeField
            label="your rater code"
            value={rater}
            testId="rater-code"
            disabled={account !== null}
            title={account === null ? undefined : 'your account in the lab store'}
            onChange={code => app.prefs.change({ rater: code })}
          />
        </header>
        <InterruptedImports />
        {sessions !== null && sessions.length > 0 && (
          <section aria-labelledby="kept">
            <h2 id="kept">Sessions in this browser</h2>
            <SessionTable sessions={sessions} onChange={refresh} />
          </section>
        )}
        <div className="start-lines">
          <section aria-labelledby="own">
            <h2 id="own">Open your own</h2>
            <OpenYourOwn onDone={refresh} />
          </section>
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

function SessionTable({ sessions, onChange }: { sessions: readonly CatalogueEntry[]; onChange: () => void }) {
  const app = useApp();
  const remove = async (id: string) => {
    await app.library.removeSession(id).catch((error: Error) => app.ui.notify(error.message));
    onChange();
  };
  return (
    <table>
      <thead>
        <tr>
          <th scope="col">session</th>
          <th scope="col" className="left">
            recorders
          </th>
          <th scope="col" className="left">
            reviews
          </th>
          <th scope="col">length</th>
          <th scope="col">marks</th>
          <th scope="col">last opened or changed</th>
          <th scope="col">
            <span className="visually-hidden">actions</span>
          </th>
        </tr>
      </thead>
      <tbody>
        {sessions.map(s => (
          <tr key={s.id}>
            <th scope="row" className="session-name">
              <a href={hashOfScreen({ name: 'review', sessionId: s.id })}>{s.title}</a>
            </th>
            <td className="left wrap">{s.recorders.join(', ')}</td>
            <td className="left wrap">
              <SessionRaters entry={s} />
            </td>
            <td>{clock(s.durationSec)}</td>
            <td>{s.markCount}</td>
            <td>{new Date(s.savedAt).toLocaleString()}</td>
            <td>
              <RemoveButton what={s.title} question="Remove it with all reviews?" onRemove={() => remove(s.id)} />
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** Drop files or choose them; what they are is found out from their contents. */
function OpenYourOwn({ onDone }: { onDone: () => void }) {
  const app = useApp();
  const take = (files: File[]) => {
    if (files.length > 0) void app.importFiles(files).then(onDone);
  };
  return (
    <DropPlace onDrop={dropped => take([...dropped.files])}>
      <p>
        Drop an ECG with its marks and segments here: EDF or EDF+, text tables (CSV), lists of samples, times or RR
        intervals, raw binary, or a session bundle.
      </p>
      <ChooseFiles title="Choose files" chief testId="file-input" onChoose={take} />
    </DropPlace>
  );
}
