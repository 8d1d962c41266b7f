import type { Handling } from '../../core/review/privacy/identifying';

interface Props {
  readonly value: Handling;
  readonly onChange: (value: Handling) => void;
  /** False where no review leaves: then there are no raters' codes and no remarks. */
  readonly withReviews?: boolean;
}

/** Which dates, names, codes and words leave with a file. */
export function LeavingFields({ value, onChange, withReviews = true }: Props) {
  const { dates } = value;
  const handle = (part: Partial<Handling>) => onChange({ ...value, ...part });
  return (
    <div className="row">
      <label className="row">
        dates of the recordings
        <select
          value={typeof dates === 'string' ? dates : 'shift'}
          onChange={e =>
            handle({ dates: e.target.value === 'shift' ? { shiftDays: -365 } : (e.target.value as 'keep' | 'drop') })
          }
        >
          <option value="keep">as recorded</option>
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
              if (Math.abs(days) <= 36500) handle({ dates: { shiftDays: days } });
            }}
          />
        </label>
      )}
      <label className="row">
        <input
          type="checkbox"
          checked={value.sources === 'drop'}
          onChange={e => handle({ sources: e.target.checked ? 'drop' : 'keep' })}
        />
        leave out the names of source files
      </label>
      <label className="row">
        <input
          type="checkbox"
          checked={value.codes === 'drop'}
          onChange={e => handle({ codes: e.target.checked ? 'drop' : 'keep' })}
        />
        {withReviews
          ? 'leave out codes of participant and raters, title, and the ids of session and recordings'
          : 'leave out the participant’s code, title, and the ids of session and recordings'}
      </label>
      <label className="row">
        <input
          type="checkbox"
          checked={value.names === 'drop'}
          onChange={e => handle({ names: e.target.checked ? 'drop' : 'keep' })}
        />
        leave out the names of recorders, leads and segments
      </label>
      {withReviews && (
        <label className="row">
          <input
            type="checkbox"
            checked={value.remarks === 'drop'}
            onChange={e => handle({ remarks: e.target.checked ? 'drop' : 'keep' })}
          />
          leave out remarks and reasons
        </label>
      )}
    </div>
  );
}
