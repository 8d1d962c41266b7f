import { useCallback } from 'react';
import type { LessonWorkspace, Practice } from '../../state/practice/practice';
import { isWorkedExample } from '../../state/practice/task';
import type { ReviewWorkspace } from '../../state/review/workspace';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp, usePart, useWorkspace } from '../app-context';
import { NoticeList } from '../controls/notices';
import { DialogHost } from '../dialogs/host';
import { KeysLine, reviewIds } from '../review/keys-line';
import { OverviewView } from '../review/overview-view';
import { SavingState } from '../review/review-head';
import { ReviewStrip } from '../review/strip-view';
import { SegmentTable } from '../segment-table/segment-table';
import { DoneDialog, NotInLesson, notInLesson } from './done-dialog';
import { Feedback } from './feedback';
import { createLessonModel } from './lesson-strip-model';
import { LessonTask } from './lesson-task';
import { SampledTask } from './sampled-task';

/** The review screen with a lesson on it: the same strip, keys and ledger; the answers once it is done. */
export function PracticeWorkspace({ workspace }: { workspace: LessonWorkspace }) {
  const app = useApp();
  const { practice } = workspace;
  const done = usePart(workspace.review.store, s => s.replayed.finished);
  const recordingId = practice.lesson.item.recording.id;
  const modelOf = useCallback(() => createLessonModel(workspace, app), [workspace, app]);
  return (
    <main className={done ? 'workspace graded' : 'workspace practising'}>
      <Head practice={practice} done={done} />
      <NoticeList />
      <div className="workspace-map">
        <OverviewView />
      </div>
      <ReviewStrip modelOf={modelOf} />
      <aside className="workspace-side" aria-label={done ? 'What the lesson came to' : 'The lesson and its ledger'}>
        {done ? (
          <Feedback practice={practice} />
        ) : (
          <>
            {practice.lesson.sample ? <SampledTask /> : <LessonTask practice={practice} />}
            <div>
              <SegmentTable recordingId={recordingId} />
              <p className="soft small ledger-note">
                The ledger counts what you have corrected so far. It does not know the answers.
              </p>
            </div>
          </>
        )}
      </aside>
      <KeysLine idsOf={done ? gradedIds : workingIds} />
      <Sheets workspace={workspace} done={done} />
    </main>
  );
}

function Sheets({ workspace, done }: { workspace: LessonWorkspace; done: boolean }) {
  const app = useApp();
  const dialog = usePart(app.ui, s => s.dialog);
  if (dialog === 'finish' || (dialog === 'reopen' && done)) return <DoneDialog workspace={workspace} />;
  if (dialog !== null && dialog in notInLesson) return <NotInLesson dialog={dialog} />;
  return <DialogHost />;
}

function Head({ practice, done }: { practice: Practice; done: boolean }) {
  const app = useApp();
  const workspace = useWorkspace();
  usePart(workspace.review.store, s => s.replayed);
  const { task, lesson } = practice;
  const rater = workspace.review.get().log.header.rater;
  const which = task.from === 'seed' ? `seed ${task.seed}, difficulty ${task.difficulty}` : `answers by ${task.rater}`;
  return (
    <header className="workspace-head">
      <a href={hashOfScreen({ name: 'practice', task: [] })}>Lessons</a>
      <h1>{lesson.session.title}</h1>
      <span className="soft">
        {which} · learner {rater}
      </span>
      <span className="spring" />
      {done ? (
        <span className="soft">{isWorkedExample(task) ? 'worked example' : 'done and graded'}</span>
      ) : (
        <SavingState />
      )}
      {!done && (
        <>
          {!lesson.sample && (
            <button type="button" onClick={() => app.runCommand('practice.hint')}>
              Hint
            </button>
          )}
          <button type="button" className="chief" onClick={() => app.runCommand('practice.done')}>
            Done
          </button>
        </>
      )}
      <button type="button" onClick={() => app.ui.openDialog('settings')}>
        Settings
      </button>
      <button type="button" onClick={() => app.ui.openDialog('help')}>
        Keys
      </button>
    </header>
  );
}

function workingIds(workspace: ReviewWorkspace): string[] {
  const ids = reviewIds(workspace);
  const own = workspace.givenSample ? ['sample.next'] : ['practice.hint'];
  return [...ids.filter(id => id !== 'help.open'), ...own, 'practice.done', 'help.open'];
}

function gradedIds(): string[] {
  return ['practice.next', 'practice.previous', 'zoom.in', 'zoom.out', 'page.next', 'help.open'];
}
