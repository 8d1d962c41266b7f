import type { Handling } from '../../core/review/privacy/identifying';
import type { ReturnHandling } from '../../core/review/privacy/leaving-handover';

type Dates = Handling['dates'];

interface Props {
  readonly value: Handling;
  readonly onChange: (value: Handling) => void;
  /** False where no review leaves: then there are no raters' codes and no remarks. */
  readonly withReviews?: boolean;
}

/** Which dates, names, codes and words leave with a file. */
export function LeavingFields({ value, onChange, withReviews = true }: Props) {
  const handle = (part: Partial<Handling>) => onChange({ ...value, ...part });
  const box = (kind: Exclude<keyof Handling, 'dates'>, label: string) => (
    <label className="row">
      <input
        type="checkbox"
        checked={value[kind] === 'drop'}
        onChange={e => handle({ [kind]: e.target.checked ? 'drop' : 'keep' })}
      />
      {label}
    </label>
  );
  return (
    <div className="row">
      <DateFields label="dates of the recordings" value={value.dates} onChange={dates => handle({ dates })} />
      {box('sources', 'leave out the names of source files')}
      {box(
        'codes',
        withReviews
          ? 'leave out codes of participant and raters, title, and the ids of session and recordings'
          : 'leave out the participant’s code, title, and the ids of session and recordings',
      )}
      {box('names', 'leave out the names of recorders, leads and segments')}
      {withReviews && box('remarks', 'leave out remarks and reasons')}
    </div>
  );
}

interface ReturnProps {
  readonly value: ReturnHandling;
  readonly onChange: (value: ReturnHandling) => void;
}

/** The same of a return, in which codes, ids and names stay as they were handed out. */
export function ReturnFields({ value, onChange }: ReturnProps) {
  return (
    <div className="row">
      <DateFields
        label="dates of your review"
        asRecorded="as they are"
        value={value.dates}
        onChange={dates => onChange({ ...value, dates })}
      />
      <label className="row">
        <input
          type="checkbox"
          checked={value.remarks === 'drop'}
          onChange={e => onChange({ ...value, remarks: e.target.checked ? 'drop' : 'keep' })}
        />
        leave out remarks and reasons
      </label>
    </div>
  );
}

interface DateProps {
  readonly label: string;
  readonly asRecorded?: string;
  readonly value: Dates;
  readonly onChange: (value: Dates) => void;
}

function DateFields({ label, asRecorded = 'as recorded', value: dates, onChange }: DateProps) {
  return (
    <>
      <label className="row">
        {label}
        <select
          value={typeof dates === 'string' ? dates : 'shift'}
          onChange={e =>
            onChange(e.target.value === 'shift' ? { shiftDays: -365 } : (e.target.value as 'keep' | 'drop'))
          }
        >
          <option value="keep">{asRecorded}</option>
          <option value="shift">shifted by whole days</option>
          <option value="drop">left out</option>
        </select>
      </label>
      {typeof dates !== 'string' && (
        <label className="row">
          days
          <input
            type="number"
            step={1}
            min={-36500}
            max={36500}
            value={dates.shiftDays}
            onChange={e => {
              const days = Math.round(e.target.valueAsNumber);
              if (Math.abs(days) <= 36500) onChange({ shiftDays: days });
            }}
          />
        </label>
      )}
    </>
  );
}
