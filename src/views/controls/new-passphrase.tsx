import { useState } from 'react';
import { passphraseProblem } from '../../state/export/locking';

/** A passphrase to be, '' for none, and the same typed a second time. */
export interface NewPassphrase {
  readonly passphrase: string;
  readonly again: string;
}

export const noPassphrase: NewPassphrase = { passphrase: '', again: '' };

interface Props {
  readonly label: string;
  readonly value: NewPassphrase;
  readonly onChange: (value: NewPassphrase) => void;
}

/** Typed twice, as nobody can open the file after a slip of the finger. */
export function NewPassphraseFields({ label, value, onChange }: Props) {
  const [shown, setShown] = useState(false);
  const { passphrase, again } = value;
  const problem = passphraseProblem(passphrase, again);
  const field = (name: string, part: keyof NewPassphrase) => (
    <label className="row">
      {name}
      <input
        type={shown ? 'text' : 'password'}
        autoComplete="new-password"
        value={value[part]}
        onChange={e => onChange({ passphrase, again, [part]: e.target.value })}
      />
    </label>
  );
  return (
    <>
      <div className="row">
        {field(label, 'passphrase')}
        {passphrase !== '' && field('the passphrase again', 'again')}
        {passphrase !== '' && (
          <label className="row">
            <input type="checkbox" checked={shown} onChange={e => setShown(e.target.checked)} />
            show it
          </label>
        )}
      </div>
      {problem && (
        <p className="small needs" role="status">
          {problem}
        </p>
      )}
      {passphrase !== '' && (
        <p className="small">
          Whoever opens the file is asked for the passphrase. It is not stored and cannot be recovered: without it
          nobody can open the file.
        </p>
      )}
    </>
  );
}
