import { useState } from 'react';
import { remoteWords, unsentSessions } from '../../state/sharing/lab-store';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp, usePart } from '../app-context';
import { NoticeList } from '../controls/notices';
import { Assigned } from './assigned';
import { ByFiles } from './by-files';
import { Certificates } from './certificates';
import { Supervise } from './supervise';
import './lab-store.css';

/** The lab's own store: signing in, then what the account is there for. Nothing is asked of a server before that. */
export function LabStoreScreen() {
  const app = useApp();
  const signedIn = usePart(app.labStore.store, s => s.signedIn);
  const signOut = () => {
    const unsent = unsentSessions(app.labStore.store.getState());
    app.labStore.signOut();
    if (unsent.length === 0) return;
    app.ui.notify(
      `Not everything was sent: ${unsent.join(', ')}. It is saved in this browser, and sent when ${signedIn?.user} signs in here again.`,
    );
  };
  return (
    <>
      <NoticeList />
      <main className="start lab-store">
        <header className="start-head">
          <h1>Lab store</h1>
          <nav className="row" aria-label="Where to">
            {signedIn && (
              <>
                <span data-testid="signed-in">
                  {signedIn.user}, {signedIn.role}, study {signedIn.study}
                </span>
                <button type="button" onClick={signOut}>
                  Sign out
                </button>
              </>
            )}
            <a href={hashOfScreen({ name: 'start' })}>Sessions</a>
          </nav>
        </header>
        {!signedIn && <SignIn />}
        {!signedIn && <ByFiles />}
        {!signedIn && <Certificates />}
        {signedIn?.role === 'rater' && <Assigned />}
        {signedIn && signedIn.role !== 'rater' && <Supervise key={signedIn.study} signedIn={signedIn} />}
        <p className="caution">
          For research and teaching on signal quality. Not a medical device; not for diagnosis, monitoring or treatment.
          Reviews are sent only to the server that this page came from, and only while you are signed in.
        </p>
      </main>
    </>
  );
}

function SignIn() {
  const app = useApp();
  const [given, setGiven] = useState({ study: '', user: '', password: '' });
  const [problem, setProblem] = useState('');
  const [busy, setBusy] = useState(false);
  const signIn = async () => {
    setBusy(true);
    setProblem('');
    try {
      await app.labStore.signIn(given.study.trim(), { user: given.user.trim(), password: given.password });
    } catch (error) {
      setProblem(remoteWords(error));
    }
    setBusy(false);
  };
  const field = (name: keyof typeof given, label: string, type = 'text', autoComplete = 'off') => (
    <label className="field">
      <span>{label}</span>
      <input
        type={type}
        value={given[name]}
        autoComplete={autoComplete}
        onChange={e => setGiven({ ...given, [name]: e.target.value })}
      />
    </label>
  );
  return (
    <section aria-labelledby="sign-in">
      <h2 id="sign-in">Sign in</h2>
      <p>
        For labs that run a store of their own on the server of this page. Your code is the name of your account; who
        administers the store gave you the password.
      </p>
      <form
        className="lab-store-form"
        onSubmit={event => {
          event.preventDefault();
          void signIn();
        }}
      >
        {field('study', 'study')}
        {field('user', 'your code', 'text', 'username')}
        {field('password', 'password', 'password', 'current-password')}
        <button type="submit" className="chief" disabled={busy || given.study === '' || given.user === ''}>
          {busy ? 'Signing in …' : 'Sign in'}
        </button>
      </form>
      {problem !== '' && (
        <p role="alert" className="needs">
          Not signed in: {problem}.
        </p>
      )}
    </section>
  );
}
