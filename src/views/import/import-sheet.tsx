import { useEffect } from 'react';
import { useApp, usePart } from '../app-context';
import { ChooseFiles } from '../controls/choose-files';
import { Sheet } from '../controls/dialog';
import { Field } from './fields';
import { FileRow } from './file-row';
import './import.css';
import { Summary } from './summary';

const titles = { none: '', asked: 'Open files', reading: 'Reading', confirm: 'What was read' } as const;

/** From files to a session: what each file is, reading with progress, and what came out, to be confirmed. */
export function ImportSheet() {
  const app = useApp();
  const { importing } = app;
  const state = usePart(importing.store, s => s);
  const { stage, rows } = state;
  const stopped = rows.find(r => r.problem !== null && r.meaning !== 'left out')?.id;
  const left = rows.filter(r => r.meaning === 'left out').map(r => r.file.name);
  useEffect(() => {
    if (stage === 'none') return;
    app.ui.openDialog('import');
    return () => app.ui.openDialog(null);
  }, [app, stage]);
  if (stage === 'none') return null;
  return (
    <Sheet key={stage} title={titles[stage]} onClose={() => void importing.back()} wide>
      <form
        className="sheet-body"
        onSubmit={event => {
          event.preventDefault();
          if (stage === 'asked') void importing.read();
          if (stage === 'confirm') void importing.confirm();
        }}
      >
        {stage === 'asked' && <SessionFields first={stopped === undefined && state.problem === null} />}
        {stage === 'confirm' ? (
          <Summary recorders={state.recorders} repeats={state.repeats} left={left} />
        ) : (
          <fieldset className="import-files" disabled={stage === 'reading'}>
            {rows.map(row => (
              <FileRow key={row.id} row={row} first={row.id === stopped} />
            ))}
          </fieldset>
        )}
        {state.problem && (
          <p className="needs" role="alert" tabIndex={-1} data-focus={stopped === undefined || undefined}>
            {state.problem}
          </p>
        )}
        {stage === 'reading' ? <Reading /> : <Doing />}
        <Buttons />
      </form>
    </Sheet>
  );
}

function SessionFields({ first }: { first: boolean }) {
  const { importing } = useApp();
  const title = usePart(importing.store, s => s.title);
  const participant = usePart(importing.store, s => s.participant);
  return (
    <div className="row">
      <Field label="title of the session">
        <input
          data-focus={first || undefined}
          size={34}
          maxLength={200}
          value={title}
          onChange={e => importing.fields({ title: e.target.value })}
        />
      </Field>
      <Field label="participant code, never a name">
        <input
          size={12}
          maxLength={40}
          value={participant}
          placeholder="V01"
          onChange={e => importing.fields({ participant: e.target.value })}
        />
      </Field>
    </div>
  );
}

/**
 * While files are read the hands rest here, and the button that stops it is at the other end: a second click or Enter on Read
 * is meant for Read.
 */
function Reading() {
  return (
    // biome-ignore lint/a11y/useSemanticElements: nothing is filled in here
    <div role="group" aria-label="Progress" tabIndex={-1} data-focus>
      <Doing />
    </div>
  );
}

function Doing() {
  const { importing } = useApp();
  const doing = usePart(importing.store, s => s.doing);
  if (!doing) return null;
  const { what, share, secondsLeft } = doing;
  return (
    <p role="status" className="row">
      <span>
        {what}
        {share === null ? ' …' : `, ${Math.round(share * 100)} %`}
        {secondsLeft !== null && secondsLeft > 1 ? `, about ${Math.ceil(secondsLeft)} s left` : ''}
      </span>
      <progress aria-label={what} max={1} {...(share === null ? {} : { value: share })} />
    </p>
  );
}

function Buttons() {
  const { importing } = useApp();
  const stage = usePart(importing.store, s => s.stage);
  const rows = usePart(importing.store, s => s.rows);
  if (stage === 'reading') {
    return (
      <div className="row">
        <button type="button" data-stop onClick={() => void importing.back()}>
          Cancel reading
        </button>
      </div>
    );
  }
  if (stage === 'confirm') {
    return (
      <div className="row end">
        <button type="button" onClick={() => void importing.back()}>
          Back to the files
        </button>
        <button type="submit" className="chief" data-focus>
          Save and open
        </button>
      </div>
    );
  }
  return (
    <div className="row end">
      <span className="soft small spring">
        Signals of one visit together, each its own recorder; nothing leaves this browser.
      </span>
      <ChooseFiles title="Add files" testId="import-more" onChoose={files => importing.take(files)} />
      <button type="submit" className="chief" disabled={rows.some(r => r.stage === 'looking')}>
        Read
      </button>
    </div>
  );
}
