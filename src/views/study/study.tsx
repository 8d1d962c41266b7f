import { type ReactNode, useCallback, useEffect, useState } from 'react';
import type { Study } from '../../core/review/study/study';
import { errorMessage } from '../../state/error-message';
import { unlockedFile } from '../../state/export/locking';
import { hashOfScreen } from '../../state/stores/ui-store';
import {
  importStudyBundle,
  listStudies,
  loadDemoStudy,
  newStudy,
  removeStudy,
  saveStudy,
} from '../../state/study/studies';
import { useApp } from '../app-context';
import { NoticeList } from '../controls/notices';
import { RemoveButton } from '../controls/remove-button';
import { StudyPage } from './study-page';
import './study.css';
import { TableHead } from '../controls/table-head';

/** Studies kept in this browser, or the one that is open. */
export function StudyScreen({ studyId }: { studyId: string }) {
  const app = useApp();
  const [studies, setStudies] = useState<readonly Study[] | null>(null);
  const refresh = useCallback(() => {
    listStudies(app.library).then(setStudies, (error: Error) => {
      setStudies([]);
      app.ui.notify(errorMessage(error));
    });
  }, [app]);
  useEffect(refresh, [refresh]);
  const study = studies?.find(s => s.id === studyId);
  return (
    <>
      <NoticeList />
      <main className="start study" aria-busy={studies === null}>
        <header className="start-head">
          <h1>{study ? study.title : 'Studies'}</h1>
          <nav className="row" aria-label="Navigation">
            {studyId !== '' && <a href={hashOfScreen({ name: 'study', studyId: '' })}>All studies</a>}
            <a href={hashOfScreen({ name: 'start' })}>Sessions</a>
          </nav>
        </header>
        {studies !== null && studyId !== '' && !study && <p role="alert">This study is not stored in this browser.</p>}
        {study && <StudyPage key={study.id} study={study} onChange={refresh} />}
        {studies !== null && studyId === '' && <StudyList studies={studies} onChange={refresh} />}
        <p className="caution">
          For research and teaching on signal quality. Not a medical device; not for diagnosis, monitoring or treatment.
          Recordings stay in this browser on this computer.
        </p>
      </main>
    </>
  );
}

function StudyList({ studies, onChange }: { studies: readonly Study[]; onChange: () => void }) {
  const app = useApp();
  const [title, setTitle] = useState('');
  const [busy, setBusy] = useState(false);
  const open = (study: Study) => {
    location.hash = hashOfScreen({ name: 'study', studyId: study.id });
    onChange();
  };
  const attempt = async (make: () => Promise<Study | null>) => {
    setBusy(true);
    try {
      const study = await make();
      if (study) open(study);
    } catch (error) {
      app.ui.notify(errorMessage(error));
    }
    setBusy(false);
  };
  const create = async () => {
    const study = newStudy(title.trim(), app.now());
    await saveStudy(app.library, study);
    return study;
  };
  const take = async (given: File | undefined) => {
    if (!given) return null;
    const file = await unlockedFile(app, given);
    const study = await importStudyBundle(app, file);
    if (!study) app.ui.notify(`${file.name} is not a study bundle. Import session bundles into an open study.`);
    return study;
  };
  return (
    <>
      {studies.length > 0 && <Kept studies={studies} onChange={onChange} />}
      <div className="start-lines">
        <Block id="demo" title="Demo study">
          <p className="soft">
            A mountain-rescue training day, invented: eight volunteers, two recorders, five activities, all reviewed.
          </p>
          <button
            type="button"
            className="chief"
            disabled={busy}
            onClick={() => void attempt(() => loadDemoStudy(app))}
          >
            {busy ? 'Working …' : 'Load the demo study'}
          </button>
        </Block>
        <Block id="new" title="New study">
          <form
            className="row"
            onSubmit={event => {
              event.preventDefault();
              void attempt(create);
            }}
          >
            <label className="field">
              <span>title</span>
              <input value={title} maxLength={200} onChange={e => setTitle(e.target.value)} />
            </label>
            <button type="submit" disabled={busy || title.trim() === ''}>
              Create
            </button>
          </form>
        </Block>
        <Block id="bundle" title="Study bundle">
          <label className="field">
            <span>one file with all its sessions</span>
            <input
              type="file"
              accept=".zip,.locked"
              disabled={busy}
              data-testid="study-file"
              onChange={e => {
                const [file] = [...(e.target.files ?? [])];
                e.target.value = '';
                void attempt(() => take(file));
              }}
            />
          </label>
        </Block>
      </div>
    </>
  );
}

function Block({ id, title, children }: { id: string; title: string; children: ReactNode }) {
  return (
    <section aria-labelledby={`study-${id}`}>
      <h2 id={`study-${id}`}>{title}</h2>
      {children}
    </section>
  );
}

function Kept({ studies, onChange }: { studies: readonly Study[]; onChange: () => void }) {
  const app = useApp();
  const remove = async (id: string) => {
    await removeStudy(app.library, id).catch((error: Error) => app.ui.notify(errorMessage(error)));
    onChange();
  };
  return (
    <table>
      <caption>Studies in this browser</caption>
      <TableHead columns={['study', 'sessions', 'activities', { hidden: 'actions' }]} />
      <tbody>
        {studies.map(s => (
          <tr key={s.id}>
            <th scope="row">
              <a href={hashOfScreen({ name: 'study', studyId: s.id })}>{s.title}</a>
            </th>
            <td>{s.sessions.length}</td>
            <td>{s.segmentTemplate.length}</td>
            <td>
              <RemoveButton
                what={s.title}
                question="Remove the study? Its sessions stay."
                onRemove={() => remove(s.id)}
              />
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
