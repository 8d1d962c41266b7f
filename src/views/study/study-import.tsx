import { useEffect, useMemo, useState } from 'react';
import { amount } from '../../core/amount';
import type { ImportPlan } from '../../core/review/study/import-plan';
import { patternsProblem } from '../../core/review/study/naming';
import type { Study } from '../../core/review/study/study';
import { errorMessage } from '../../state/error-message';
import {
  type ChosenFile,
  type ChosenStudyFile,
  createStudyFiles,
  importPlanOf,
  readNames,
  withCorrections,
} from '../../state/study/files';
import { importStudyFiles } from '../../state/study/import';
import { saveStudy } from '../../state/study/studies';
import { useApp, usePart } from '../app-context';
import { ChooseFiles } from '../controls/choose-files';
import { DropPlace } from '../controls/drop-place';
import { chosenFiles, droppedFiles } from './dropped-files';
import { FileTable } from './file-table';

/** Many files at once: names say whose each is and contents what it is, and both are shown before anything is read. */
export function StudyImport({ study, onChange }: { study: Study; onChange: () => void }) {
  const app = useApp();
  const [list] = useState(() => createStudyFiles(study.namedFiles));
  const files = usePart(list.store, s => s.files);
  const busy = usePart(list.store, s => s.busy);
  const [pattern, setPattern] = useState(study.namingPattern);
  const problem = patternsProblem(pattern);
  const plan = useMemo(() => importPlanOf(files, pattern), [files, pattern]);
  const names = useMemo(() => readNames(files, pattern), [files, pattern]);
  const add = (chosen: readonly ChosenFile[]) => {
    list.add(chosen).catch((error: Error) => app.ui.notify(errorMessage(error)));
  };
  useEffect(() => {
    if (!busy) return;
    const warn = (event: BeforeUnloadEvent) => event.preventDefault();
    addEventListener('beforeunload', warn);
    return () => removeEventListener('beforeunload', warn);
  }, [busy]);
  const read = async () => {
    const named = withCorrections({ ...study, namingPattern: pattern }, files);
    try {
      await saveStudy(app.library, named);
      await importStudyFiles(app, named, list);
    } catch (error) {
      app.ui.notify(errorMessage(error));
    }
    onChange();
  };
  const waiting = files.some(f => f.stage === 'looking');
  const usable = plan.places.filter(p => p.use === 'import').length;
  return (
    <section aria-labelledby="import-many">
      <h2 id="import-many">Import</h2>
      <p className="soft">
        Names say whose each file is, contents say what it is: recordings (EDF, text tables, arrays), lists of marks,
        segments or annotations, session bundles. A list belongs to the recorder its name begins with, or to every
        recorder of the volunteer.
      </p>
      <label className="field">
        <span>how files are named</span>
        <textarea
          rows={Math.max(2, pattern.split('\n').length)}
          cols={48}
          maxLength={2000}
          spellCheck={false}
          value={pattern}
          onChange={e => setPattern(e.target.value)}
          aria-describedby="pattern-help"
        />
      </label>
      <p id="pattern-help" className={problem ? 'needs small' : 'soft small'}>
        {problem ??
          '{participant}, {recorder}, {activity} and {date} stand for what they say, {ignore} for a part that says nothing, * for anything or nothing; other text stands for itself, and the ending of the file is left out. Folders count: {participant}/{recorder}. One pattern a line: each file is read by the first that it fits. Names that fit none can be corrected in the table.'}
      </p>
      <Chosen disabled={busy} onFiles={add} />
      {files.length > 0 && <FileTable files={files} plan={plan} names={names} busy={busy} onChange={list.change} />}
      {files.length > 0 && <Summary plan={plan} files={files} />}
      {files.length > 0 && (
        <div className="row">
          <button
            type="button"
            className="chief"
            disabled={busy || waiting || usable === 0 || problem !== null}
            onClick={() => void read()}
          >
            {busy ? 'Importing …' : `Import ${usable} of ${files.length} files`}
          </button>
          <button type="button" disabled={busy} onClick={() => list.clear()}>
            Clear the list
          </button>
        </div>
      )}
    </section>
  );
}

function Summary({ plan, files }: { plan: ImportPlan; files: readonly ChosenStudyFile[] }) {
  const { recordings, bundles, places } = plan;
  const volunteers = new Set(recordings.map(r => r.participant)).size;
  const without = recordings.filter(r => r.marks === null && r.annotations.length === 0).length;
  const done = files.filter(f => f.stage === 'imported').length;
  const out = places.filter((p, i) => p.use === 'left out' && files[i]!.stage !== 'imported').length;
  const toCome = `${amount(recordings.length, 'recording')} of ${amount(volunteers, 'volunteer')}`;
  const words = [
    ...(recordings.length > 0 || done === 0 ? [toCome] : []),
    ...(bundles.length > 0 ? [amount(bundles.length, 'session bundle')] : []),
    ...(without > 0 ? [`${without} without a list of marks: those in the file, else the built-in detector’s`] : []),
    ...(done > 0 ? [`${done} imported`] : []),
    ...(out > 0 ? [`${out} left out`] : []),
  ];
  return (
    <p role="status" data-testid="import-summary">
      {files.some(f => f.stage === 'looking')
        ? 'Reading the files …'
        : `${amount(files.length, 'file')}: ${words.join('; ')}.`}
    </p>
  );
}

/** Drop a folder, or choose one. */
function Chosen({ disabled, onFiles }: { disabled: boolean; onFiles: (files: readonly ChosenFile[]) => void }) {
  const app = useApp();
  const take = (files: readonly File[]) => onFiles(chosenFiles(files));
  const drop = (dropped: DataTransfer) => {
    if (disabled) return;
    droppedFiles(dropped).then(onFiles, (error: Error) => app.ui.notify(errorMessage(error)));
  };
  return (
    <DropPlace testId="study-drop" onDrop={drop}>
      <p>Drop the study’s folder, or files of it, here.</p>
      <div className="row">
        <ChooseFiles title="Choose a folder" folder disabled={disabled} testId="study-folder" onChoose={take} />
        <ChooseFiles title="Choose files" disabled={disabled} testId="study-files" onChoose={take} />
      </div>
    </DropPlace>
  );
}
