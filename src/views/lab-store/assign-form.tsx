import { useState } from 'react';
import { remoteWords, type SignedIn } from '../../state/sharing/lab-store';
import { assignBatch } from '../../state/sharing/supervising';
import { useApp } from '../app-context';
import { BatchFieldset, drawOf, emptyBatch, LabelledInput } from './batch-fields';

/** Sends sessions of this browser to the store, and draws who rates and who settles them. */
export function AssignForm({ signedIn, onAssigned }: { signedIn: SignedIn; onAssigned: () => Promise<void> }) {
  const app = useApp();
  const [batch, setBatch] = useState(emptyBatch);
  const [settler, setSettler] = useState('');
  const [calibration, setCalibration] = useState(false);
  const [repeats, setRepeats] = useState(false);
  const [busy, setBusy] = useState(false);
  const draw = drawOf(batch);
  const run = async () => {
    if (!draw) return;
    setBusy(true);
    try {
      await assignBatch(app, signedIn, { ...draw, settler: settler.trim() || null, calibration, repeats });
      const many = draw.sessions.length === 1 ? 'session was' : 'sessions were';
      app.ui.notify(`${draw.sessions.length} ${many} assigned.`, 'done');
      setBatch({ ...batch, chosen: new Set() });
      // What cannot be taken back is not to be done to the next batch by mistake.
      setCalibration(false);
      setRepeats(false);
    } catch (error) {
      app.ui.notify(`Not everything was assigned: ${remoteWords(error)}. Assign again: what is done stays as it is.`);
    }
    setBusy(false);
    await onAssigned();
  };
  return (
    <section aria-labelledby="assign">
      <h2 id="assign">Assign sessions</h2>
      <form
        className="lab-store-form"
        onSubmit={event => {
          event.preventDefault();
          void run();
        }}
      >
        <BatchFieldset value={batch} onChange={setBatch} />
        <LabelledInput label="code of who settles differences (may be empty)" value={settler} onChange={setSettler} />
        <label className="lab-store-check">
          <input type="checkbox" checked={calibration} onChange={e => setCalibration(e.target.checked)} />
          for calibration: everybody rates each of them; the first code is the reference
        </label>
        <label className="lab-store-check">
          <input type="checkbox" checked={repeats} onChange={e => setRepeats(e.target.checked)} />
          once more: each of these raters gets those they were given before, under another name; they are compared with
          their own first review
        </label>
        <button type="submit" className="chief" disabled={busy || !draw}>
          {busy ? 'Assigning …' : 'Send and assign'}
        </button>
      </form>
      <p className="soft">
        The draw gives each rater about as many first ratings as the others, and second ratings to somebody else. With
        the same codes, sessions and seed anybody draws the same. An assignment cannot be taken back.
      </p>
    </section>
  );
}
