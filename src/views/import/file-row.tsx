import { doubtsLeft } from '../../formats/text/layout';
import { type ImportRow, isSignal, type Meaning, meaningWords, missingIn } from '../../state/import/row';
import { useApp, usePart } from '../app-context';
import { ChoiceField, Field } from './fields';
import { MarksForm, SegmentsForm } from './list-forms';
import { RawForm } from './raw-form';
import { TextForm } from './text-form';

/** One file: what it was understood to be, why, and everything about that which may be changed. `first`: it stopped the reading. */
export function FileRow({ row, first }: { row: ImportRow; first: boolean }) {
  const { importing } = useApp();
  const missing = row.stage === 'asked' && !row.problem ? missingIn(row) : null;
  return (
    <section className="import-file" aria-label={row.file.name} data-testid="import-file">
      <div className="import-file-head">
        <h3>{row.file.name}</h3>
        <span className="soft small">{size(row.file.size)}</span>
        {row.stage === 'looking' && <span className="soft">being read …</span>}
        {row.stage === 'read' && <span className="soft">read</span>}
        {row.stage === 'reading' && <progress aria-label={`reading ${row.file.name}`} max={1} value={row.share ?? 0} />}
      </div>
      {row.problem && (
        <p className="needs" role="alert" tabIndex={-1} data-focus={first || undefined}>
          {row.problem}
        </p>
      )}
      {row.stage !== 'looking' && (
        <>
          {row.why && <p className="soft small">{row.why}</p>}
          <div className="row">
            <ChoiceField
              label="taken for"
              value={row.meaning}
              words={meaningWords}
              onChange={(meaning: Meaning) =>
                importing.look(row.id, meaning, row.asked.variables ? { variables: row.asked.variables } : {})
              }
            />
            {isSignal(row) && (
              <Field label="recorder">
                <input
                  value={row.recorder}
                  maxLength={100}
                  onChange={e =>
                    importing.change(row.id, { recorder: e.target.value, read: row.read, stage: row.stage })
                  }
                />
              </Field>
            )}
            <Belongs row={row} />
          </div>
          <Details row={row} />
          {missing && <p className="needs">{missing}</p>}
        </>
      )}
    </section>
  );
}

function Details({ row }: { row: ImportRow }) {
  if (row.meaning === 'raw') return <RawForm row={row} />;
  if (row.meaning === 'edf') return <EdfDetails row={row} />;
  if (row.meaning === 'text-signal' && row.text) {
    return (
      <>
        {doubtsLeft(row.text).map(doubt => (
          <p key={doubt} className="needs small">
            {doubt}
          </p>
        ))}
        <TextForm key={JSON.stringify(row.asked)} row={row} layout={row.text} />
      </>
    );
  }
  if (row.meaning === 'text-marks' && row.marks) {
    return (
      <>
        {row.marks.doubts.map(doubt => (
          <p key={doubt} className="needs small">
            {doubt}
          </p>
        ))}
        <MarksForm row={row} layout={row.marks} />
      </>
    );
  }
  return row.meaning === 'text-segments' && row.segments ? <SegmentsForm row={row} layout={row.segments} /> : null;
}

function EdfDetails({ row }: { row: ImportRow }) {
  const { importing } = useApp();
  const leads = row.looked?.leads ?? [];
  const identified = row.looked?.identified ?? [];
  return (
    <>
      <p className="small">
        {leads.length === 1 ? 'One lead' : `${leads.length} leads`}:{' '}
        {leads.map(l => `${l.name || 'unnamed'} at ${l.samplingRateHz} Hz`).join(', ')}.
      </p>
      {identified.length > 0 && (
        <label className="row small">
          <input
            type="checkbox"
            checked={row.keepPatient}
            onChange={e => importing.change(row.id, { keepPatient: e.target.checked })}
          />
          Keep the patient identification of the header ({identified.join(', ')}); otherwise it is left out
        </label>
      )}
    </>
  );
}

/** Marks belong to one recorder, segments to one or to all. */
function Belongs({ row }: { row: ImportRow }) {
  const { importing } = useApp();
  const rows = usePart(importing.store, s => s.rows);
  const signals = rows.filter(isSignal);
  if (isSignal(row) || row.meaning === 'left out' || signals.length === 0) return null;
  return (
    <Field label="belongs to">
      <select
        value={row.belongsTo ?? ''}
        onChange={e => {
          const belongsTo = e.target.value === '' ? null : Number(e.target.value);
          importing.change(row.id, { belongsTo, ownerChosen: true });
        }}
      >
        {row.meaning === 'text-segments' && <option value="">every recorder</option>}
        {signals.map(s => (
          <option key={s.id} value={s.id}>
            {s.recorder || s.file.name}
          </option>
        ))}
      </select>
    </Field>
  );
}

function size(bytes: number): string {
  if (bytes < 1000) return `${bytes} bytes`;
  return bytes < 1e6 ? `${(bytes / 1000).toFixed(1)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
