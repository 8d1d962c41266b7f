import { useEffect, useState } from 'react';
import type { CatalogueEntry } from '../../storage/sessions';
import { useApp } from '../app-context';

/** What every batch is drawn from, whether it goes over a server or as files. */
export interface BatchFields {
  readonly chosen: ReadonlySet<string>;
  readonly raters: string;
  /** Percent. */
  readonly share: string;
  readonly seed: string;
  /** YYYY-MM-DD, or '' for none. */
  readonly due: string;
}

export const emptyBatch: BatchFields = { chosen: new Set(), raters: '', share: '20', seed: '1', due: '' };

/** The draw as it was typed; null while something is missing or out of range. */
export function drawOf({ chosen, raters, share, seed, due }: BatchFields) {
  const codes = [...new Set(raters.split(/[\s,;]+/).filter(code => code !== ''))];
  const valid = Number(share) >= 0 && Number(share) <= 100 && share !== '' && Number.isInteger(Number(seed));
  if (chosen.size === 0 || codes.length === 0 || !valid) return null;
  const drawn = { sessions: [...chosen].sort(), raters: codes, doubleShare: Number(share) / 100, seed: Number(seed) };
  return { ...drawn, due: due || null };
}

interface Props {
  readonly value: BatchFields;
  readonly onChange: (value: BatchFields) => void;
}

/** Sessions of this browser, who rates, how many are rated twice, the seed and the date. */
export function BatchFieldset({ value, onChange }: Props) {
  const app = useApp();
  const [sessions, setSessions] = useState<readonly CatalogueEntry[]>([]);
  useEffect(() => {
    app.library.sessions().then(setSessions, (error: Error) => app.ui.notify(error.message));
  }, [app]);
  const toggle = (id: string) => {
    const chosen = new Set(value.chosen);
    if (!chosen.delete(id)) chosen.add(id);
    onChange({ ...value, chosen });
  };
  return (
    <>
      <fieldset>
        <legend>Sessions in this browser</legend>
        <div className="lab-store-sessions">
          {sessions.map(s => (
            <label key={s.id} className="row">
              <input type="checkbox" checked={value.chosen.has(s.id)} onChange={() => toggle(s.id)} />
              {s.title}
            </label>
          ))}
        </div>
        {sessions.length === 0 && <p>Import sessions into this browser first.</p>}
      </fieldset>
      <LabelledInput
        label="codes of the raters, with commas"
        value={value.raters}
        onChange={raters => onChange({ ...value, raters })}
      />
      <LabelledInput
        label="sessions rated twice, %"
        type="number"
        value={value.share}
        onChange={share => onChange({ ...value, share })}
      />
      <LabelledInput
        label="seed of the draw"
        type="number"
        value={value.seed}
        onChange={seed => onChange({ ...value, seed })}
      />
      <LabelledInput label="due on" type="date" value={value.due} onChange={due => onChange({ ...value, due })} />
    </>
  );
}

interface FieldProps {
  readonly label: string;
  readonly value: string;
  readonly onChange: (value: string) => void;
  readonly type?: string;
  readonly autoComplete?: string;
}

export function LabelledInput({ label, value, onChange, type = 'text', autoComplete = 'off' }: FieldProps) {
  return (
    <label className="field">
      <span>{label}</span>
      <input type={type} value={value} autoComplete={autoComplete} onChange={e => onChange(e.target.value)} />
    </label>
  );
}
