import { useMemo, useRef, useState } from 'react';
import { patternProblem } from '../../core/review/naming';
import type { Study } from '../../core/review/study';
import { wordsOf } from '../../state/failure-words';
import { keepStudy } from '../../state/studies';
import { importNamed, type NamedInput, namedInputs } from '../../state/study-import';
import { useApp } from '../app-context';

/** Many files at once: the naming pattern says whose each is, and is shown before anything is read. */
export function StudyImport({ study, onChange }: { study: Study; onChange: () => void }) {
  const app = useApp();
  const [pattern, setPattern] = useState(study.namingPattern);
  const [files, setFiles] = useState<readonly File[]>([]);
  const [busy, setBusy] = useState(false);
  const folder = useRef<HTMLInputElement>(null);
  const many = useRef<HTMLInputElement>(null);
  const problem = patternProblem(pattern);
  const inputs = useMemo(() => namedInputs(files, pattern), [files, pattern]);
  const usable = inputs.filter(i => i.bundle || i.named !== null);
  const add = (list: FileList | null) => setFiles(known => [...known, ...(list ?? [])]);
  const read = async () => {
    setBusy(true);
    try {
      const named = { ...study, namingPattern: pattern };
      await keepStudy(app.library, named);
      await importNamed(app, named, usable);
      setFiles([]);
    } catch (error) {
      app.shell.notify(wordsOf(error));
    }
    setBusy(false);
    onChange();
  };
  return (
    <section aria-labelledby="import-many">
      <h2 id="import-many">Import</h2>
      <p className="soft">
        Session bundles carry their own names. Of other files (EDF, text tables, lists of marks or segments) the name
        says whose they are; those that agree belong together.
      </p>
      <div className="row">
        <label className="field">
          <span>how files are named</span>
          <input size={42} value={pattern} onChange={e => setPattern(e.target.value)} aria-describedby="pattern-help" />
        </label>
        <button type="button" disabled={busy} onClick={() => folder.current?.click()}>
          Choose a folder
        </button>
        <button type="button" disabled={busy} onClick={() => many.current?.click()}>
          Choose files
        </button>
        <input
          ref={folder}
          type="file"
          multiple
          hidden
          {...{ webkitdirectory: '' }}
          onChange={e => add(e.target.files)}
        />
        <input ref={many} type="file" multiple hidden data-testid="study-files" onChange={e => add(e.target.files)} />
      </div>
      <p id="pattern-help" className={problem ? 'needs small' : 'soft small'}>
        {problem ??
          '{participant}, {recorder} and {activity} stand for names, * for anything; the ending of the file is left out. Folders count: {participant}/{recorder}.'}
      </p>
      {inputs.length > 0 && <Preview inputs={inputs} />}
      {inputs.length > 0 && (
        <div className="row">
          <button type="button" className="chief" disabled={busy || usable.length === 0} onClick={() => void read()}>
            {busy ? 'Importing …' : `Import ${usable.length} of ${inputs.length} files`}
          </button>
          <button type="button" disabled={busy} onClick={() => setFiles([])}>
            Give up
          </button>
        </div>
      )}
    </section>
  );
}

function Preview({ inputs }: { inputs: readonly NamedInput[] }) {
  return (
    <div className="study-scroll">
      <table data-testid="naming-preview">
        <thead>
          <tr>
            <th scope="col">file</th>
            <th scope="col" className="left">
              volunteer
            </th>
            <th scope="col" className="left">
              recorder
            </th>
            <th scope="col" className="left">
              activity
            </th>
          </tr>
        </thead>
        <tbody>
          {inputs.map(({ path, bundle, named }) => (
            <tr key={path}>
              <th scope="row">{path}</th>
              {bundle || named === null ? (
                <td colSpan={3} className={bundle ? 'left soft' : 'left needs'}>
                  {bundle ? 'as the bundle says' : 'does not fit the pattern: left out'}
                </td>
              ) : (
                <>
                  <td className="left">{named.participant}</td>
                  <td className="left">{named.recorder ?? '–'}</td>
                  <td className="left">{named.activity ?? '–'}</td>
                </>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
