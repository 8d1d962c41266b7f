import { useState } from 'react';
import { keepAll } from '../../core/review/privacy/identifying';
import { leavesOut } from '../../core/review/privacy/leaving-study';
import { errorMessage } from '../../state/error-message';
import type { ExportFile } from '../../state/export/exporting';
import { passphraseProblem } from '../../state/export/locking';
import { useApp } from '../app-context';
import { LeavingFields } from '../controls/leaving-fields';
import { NewPassphraseFields, noPassphrase } from '../controls/new-passphrase';
import { BatchFieldset, drawOf, emptyBatch, LabelledInput } from './batch-fields';

/** Draws who rates what, and makes one assignment file for each rater. */
export function HandOutForm({ onHandedOut }: { onHandedOut: (files: readonly ExportFile[]) => void }) {
  const app = useApp();
  const [batch, setBatch] = useState(emptyBatch);
  const [given, setGiven] = useState('');
  const [lock, setLock] = useState(noPassphrase);
  const [handling, setHandling] = useState(keepAll);
  const [busy, setBusy] = useState(false);
  const draw = drawOf(batch);
  const title = given.trim();
  const wrongLock = passphraseProblem(lock.passphrase, lock.again) !== null;
  const run = async () => {
    if (!draw) return;
    setBusy(true);
    try {
      const { handOut } = await import('../../state/handover/handing-out');
      const files = await handOut(app, { ...draw, title, passphrase: lock.passphrase, handling });
      app.ui.notify(`${files.length} assignment ${files.length === 1 ? 'file was' : 'files were'} made.`, 'done');
      setBatch({ ...batch, chosen: new Set() });
      onHandedOut(files);
    } catch (error) {
      app.ui.notify(`Nothing was handed out: ${errorMessage(error)}`);
    }
    setBusy(false);
  };
  return (
    <>
      <form
        className="lab-store-form"
        onSubmit={event => {
          event.preventDefault();
          void run();
        }}
      >
        <LabelledInput label="name of the batch" value={given} onChange={setGiven} />
        <BatchFieldset value={batch} onChange={setBatch} />
        <details>
          <summary>
            {leavesOut(handling)
              ? 'The files leave out some of what identifies people'
              : 'Leave out of the files what identifies people'}
          </summary>
          <LeavingFields value={handling} onChange={setHandling} withReviews={false} />
          <p className="small soft">
            Raters’ codes stay: the files are addressed to them. Without codes the name of the batch is left out too.
            What comes back is put under the names kept here. The ECG itself stays.
          </p>
        </details>
        <NewPassphraseFields label="passphrase, empty for open files" value={lock} onChange={setLock} />
        <button type="submit" className="chief" disabled={busy || wrongLock || !draw || title === ''}>
          {busy ? 'Packing …' : 'Make assignment files'}
        </button>
      </form>
      <p className="soft">
        An assignment holds the recordings as they are kept here, with participant codes and dates unless these are left
        out; a passphrase keeps them from others. Keep this browser’s sessions until everything has come back: a return
        is checked against what was handed out.
      </p>
    </>
  );
}
