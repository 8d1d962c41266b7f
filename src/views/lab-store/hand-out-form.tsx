import { useState } from 'react';
import { errorMessage } from '../../state/error-message';
import type { ExportFile } from '../../state/export/exporting';
import { useApp } from '../app-context';
import { BatchFieldset, drawOf, emptyBatch, Field } from './batch-fields';

/** Draws who rates what, and makes one assignment file for each rater. */
export function HandOutForm({ onHandedOut }: { onHandedOut: (files: readonly ExportFile[]) => void }) {
  const app = useApp();
  const [batch, setBatch] = useState(emptyBatch);
  const [given, setGiven] = useState({ title: '', passphrase: '' });
  const [busy, setBusy] = useState(false);
  const draw = drawOf(batch);
  const title = given.title.trim();
  const run = async () => {
    if (!draw) return;
    setBusy(true);
    try {
      const { handOut } = await import('../../state/handover/handing-out');
      const files = await handOut(app, { ...draw, title, passphrase: given.passphrase });
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
        <Field label="name of the batch" value={given.title} onChange={t => setGiven({ ...given, title: t })} />
        <BatchFieldset value={batch} onChange={setBatch} />
        <Field
          label="passphrase, empty for open files"
          type="password"
          autoComplete="new-password"
          value={given.passphrase}
          onChange={passphrase => setGiven({ ...given, passphrase })}
        />
        <button type="submit" className="chief" disabled={busy || !draw || title === ''}>
          {busy ? 'Packing …' : 'Make assignment files'}
        </button>
      </form>
      <p className="soft">
        An assignment holds the recordings as they are kept here, with participant codes and dates; a passphrase keeps
        them from others. Keep this browser’s sessions until everything has come back: a return is checked against what
        was handed out.
      </p>
    </>
  );
}
