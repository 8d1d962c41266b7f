import { type ReactNode, useState } from 'react';
import { useApp, usePart } from '../app-context';
import { NoticeList } from './notices';

interface CodeFieldProps {
  readonly label: string;
  readonly value: string;
  readonly onChange: (code: string) => void;
  readonly disabled?: boolean;
  readonly title?: string | undefined;
  readonly testId: string;
}

/** A field for a rater's code; what no code has cannot be typed. */
export function CodeField({ label, value, onChange, testId, ...rest }: CodeFieldProps) {
  return (
    <label className="row">
      {label}
      <input
        size={8}
        maxLength={20}
        value={value}
        data-testid={testId}
        data-focus
        onChange={e => onChange(e.target.value.replace(/[^A-Za-z0-9_.-]/g, ''))}
        {...rest}
      />
    </label>
  );
}

/** Whose reviews this browser signs; the account is the code of who is signed in to a lab's store. */
export function OwnCodeField({ label }: { label: string }) {
  const app = useApp();
  const rater = usePart(app.prefs, p => p.rater);
  const account = usePart(app.labStore.store, s => (s.signedIn?.role === 'rater' ? s.signedIn.user : null));
  return (
    <CodeField
      label={label}
      value={rater}
      testId="rater-code"
      disabled={account !== null}
      title={account === null ? undefined : 'your account in the lab store'}
      onChange={code => app.prefs.change({ rater: code })}
    />
  );
}

/** Asks once for the code that reviews are signed with, where one is needed and none was chosen. */
export function RaterGate({ children }: { children: ReactNode }) {
  const chosen = usePart(useApp().prefs, p => p.rater !== '');
  return chosen ? children : <ChooseCode />;
}

/** Typing can begin at once. */
function focusField(place: HTMLElement | null): void {
  place?.querySelector('input')?.focus();
}

function ChooseCode() {
  return (
    <>
      <NoticeList />
      <main className="start" data-testid="choose-code">
        <h1>Your rater code</h1>
        <CodeForm />
        <p>
          <a href="#/">Back to the sessions</a>
        </p>
      </main>
    </>
  );
}

/** The question itself, wherever the code is needed. */
export function CodeForm({ onChosen }: { onChosen?: () => void }) {
  const app = useApp();
  const [code, setCode] = useState('');
  const isCode = /[A-Za-z0-9]/.test(code);
  return (
    <form
      className="sheet-body"
      ref={focusField}
      onSubmit={event => {
        event.preventDefault();
        if (!isCode) return;
        app.prefs.change({ rater: code });
        onChosen?.();
      }}
    >
      <p>
        Reviews are signed with a code instead of a name. Use the one that your study gave you, or your initials. It is
        remembered in this browser and can be changed on the first page.
      </p>
      <div className="row">
        <CodeField label="your rater code" value={code} onChange={setCode} testId="own-code" />
        <button type="submit" className="chief" disabled={!isCode}>
          Continue
        </button>
      </div>
    </form>
  );
}
