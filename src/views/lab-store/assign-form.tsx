import { useEffect, useState } from 'react';
import { remoteWords, type SignedIn } from '../../state/sharing/lab-store';
import { assignBatch } from '../../state/sharing/supervising';
import type { CatalogueEntry } from '../../storage/sessions';
import { useApp } from '../app-context';

const codesIn = (text: string) => [...new Set(text.split(/[\s,;]+/).filter(code => code !== ''))];

/** Sends sessions of this browser to the store, and draws who rates and who settles them. */
export function AssignForm({ signedIn, onAssigned }: { signedIn: SignedIn; onAssigned: () => Promise<void> }) {
  const app = useApp();
  const [sessions, setSessions] = useState<readonly CatalogueEntry[]>([]);
  const [chosen, setChosen] = useState<ReadonlySet<string>>(new Set());
  const [given, setGiven] = useState({ raters: '', settler: '', share: '20', seed: '1', due: '' });
  const [busy, setBusy] = useState(false);
  useEffect(() => {
    app.library.sessions().then(setSessions, (error: Error) => app.ui.notify(error.message));
  }, [app]);
  const toggle = (id: string) => {
    const next = new Set(chosen);
    if (!next.delete(id)) next.add(id);
    setChosen(next);
  };
  const raters = codesIn(given.raters);
  const share = Number(given.share);
  const seed = Number(given.seed);
  const valid = chosen.size > 0 && raters.length > 0 && share >= 0 && share <= 100 && Number.isInteger(seed);
  const run = async () => {
    setBusy(true);
    try {
      await assignBatch(app, signedIn, {
        sessions: [...chosen].sort(),
        raters,
        settler: given.settler.trim() || null,
        doubleShare: share / 100,
        seed,
        due: given.due || null,
      });
      app.ui.notify(`${chosen.size} ${chosen.size === 1 ? 'session was' : 'sessions were'} assigned.`, 'done');
      setChosen(new Set());
    } catch (error) {
      app.ui.notify(`Not everything was assigned: ${remoteWords(error)}. Assign again: what is done stays as it is.`);
    }
    setBusy(false);
    await onAssigned();
  };
  const field = (name: keyof typeof given, label: string, type = 'text') => (
    <label className="field">
      <span>{label}</span>
      <input type={type} value={given[name]} onChange={e => setGiven({ ...given, [name]: e.target.value })} />
    </label>
  );
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
        <fieldset>
          <legend>Sessions in this browser</legend>
          <div className="lab-store-sessions">
            {sessions.map(s => (
              <label key={s.id} className="row">
                <input type="checkbox" checked={chosen.has(s.id)} onChange={() => toggle(s.id)} />
                {s.title}
              </label>
            ))}
          </div>
          {sessions.length === 0 && <p>Import sessions into this browser first.</p>}
        </fieldset>
        {field('raters', 'codes of the raters, with commas')}
        {field('settler', 'code of who settles differences (may be empty)')}
        {field('share', 'sessions rated twice, %', 'number')}
        {field('seed', 'seed of the draw', 'number')}
        {field('due', 'due on', 'date')}
        <button type="submit" className="chief" disabled={busy || !valid}>
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
