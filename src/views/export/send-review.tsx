import { useState } from 'react';
import { type Handling, identifyingFields } from '../../core/review/privacy/identifying';
import { leaving } from '../../core/review/privacy/leaving';
import { shownSession } from '../../state/export/exporting';
import { passphraseProblem } from '../../state/export/locking';
import { useWorkspace } from '../app-context';
import { LeavingFields } from '../controls/leaving-fields';

/** How files leave: with which dates, names and codes, and bundles locked or not. */
export interface SharingChoice {
  readonly handling: Handling;
  readonly passphrase: string;
  /** The same, typed a second time. */
  readonly again: string;
}

/** What the files say about people as they are about to leave, and what to do about it before. */
export function SharingFields({ value, onChange }: { value: SharingChoice; onChange: (value: SharingChoice) => void }) {
  const workspace = useWorkspace();
  const { handling } = value;
  const shown = shownSession(workspace);
  const fields = identifyingFields(leaving(shown, handling));
  return (
    <fieldset className="fields">
      <legend>What identifies people in these files</legend>
      <details>
        <summary>{fields.length} fields may identify a person: check them before you share anything</summary>
        <table data-testid="identifying">
          <thead>
            <tr>
              <th scope="col">field</th>
              <th scope="col" className="left">
                as it leaves
              </th>
              <th scope="col" className="left">
                goes into
              </th>
            </tr>
          </thead>
          <tbody>
            {fields.map(f => (
              <tr key={`${f.field} ${f.value}`}>
                <th scope="row">{f.field}</th>
                <td className="left wrap">{f.value}</td>
                <td className="left wrap">{f.goesInto.join(', ')}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
      <LeavingFields value={handling} onChange={changed => onChange({ ...value, handling: changed })} />
      <p className="small soft">
        EDF+ written here has X for name, birth date and sex. A bundle with other dates, codes, names or without remarks
        opens on its own and is not merged into this session again. The ECG itself stays.
      </p>
      <Passphrase value={value} onChange={onChange} />
    </fieldset>
  );
}

/** Typed twice, as nobody can open the file after a slip of the finger. */
function Passphrase({ value, onChange }: { value: SharingChoice; onChange: (value: SharingChoice) => void }) {
  const [shown, setShown] = useState(false);
  const { passphrase, again } = value;
  const problem = passphraseProblem(passphrase, again);
  const field = (label: string, part: 'passphrase' | 'again') => (
    <label className="row">
      {label}
      <input
        type={shown ? 'text' : 'password'}
        autoComplete="new-password"
        value={value[part]}
        onChange={e => onChange({ ...value, [part]: e.target.value })}
      />
    </label>
  );
  return (
    <>
      <div className="row">
        {field('passphrase, empty for an open bundle', 'passphrase')}
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
          Whoever opens the bundle is asked for the passphrase. It is not stored and cannot be recovered: without it
          nobody can open the file.
        </p>
      )}
    </>
  );
}
