import { type Handling, identifyingFields } from '../../core/review/privacy/identifying';
import { leaving } from '../../core/review/privacy/leaving';
import { shownSession } from '../../state/export/exporting';
import { useWorkspace } from '../app-context';
import { LeavingFields } from '../controls/leaving-fields';
import { type NewPassphrase, NewPassphraseFields } from '../controls/new-passphrase';
import { TableHead } from '../controls/table-head';

/** How files leave: with which dates, names and codes, and bundles locked or not. */
export interface SharingChoice extends NewPassphrase {
  readonly handling: Handling;
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
          <TableHead columns={['field', { left: 'as it leaves' }, { left: 'goes into' }]} />
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
      <NewPassphraseFields
        label="passphrase, empty for an open bundle"
        value={value}
        onChange={typed => onChange({ handling, ...typed })}
      />
    </fieldset>
  );
}
