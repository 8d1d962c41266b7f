import { useMemo } from 'react';
import { errorMessage } from '../../state/error-message';
import { planOfPath } from '../../state/practice/class-files';
import { openPractice } from '../../state/practice/practice';
import { type PracticeTask, taskOfPath } from '../../state/practice/task';
import { useApp, usePart, WorkspaceContext } from '../app-context';
import { OpeningScreen, UnavailableScreen, useOpenedWorkspace } from '../controls/opened-workspace';
import { UnblindGate } from '../controls/unblind-gate';
import { Choose } from './choose';
import { ClassLessons } from './class-lessons';
import { PracticeWorkspace } from './practice-workspace';
import './practice.css';

/** The practice screens: choosing a lesson, working on it, and what it came to. The address says which. */
export function PracticeScreen({ path }: { path: readonly string[] }) {
  const task = taskOfPath(path);
  if (task?.from === 'session') return <LessonOfReview task={task} />;
  if (task) return <Lesson task={task} />;
  if (path[0] === 'class') return <Class path={path} />;
  return <Choose unknown={path.length > 0} />;
}

/** The address holds the whole plan of the class. */
function Class({ path }: { path: readonly string[] }) {
  const read = useMemo(() => {
    try {
      return planOfPath(path);
    } catch (error) {
      return errorMessage(error);
    }
  }, [path]);
  if (read === null) return <Choose unknown />;
  if (typeof read === 'string') return <UnavailableScreen words={read} back={backToLessons} />;
  return <ClassLessons plan={read} />;
}

/** The answers of such a lesson are somebody's review. */
function LessonOfReview({ task }: { task: PracticeTask & { from: 'session' } }) {
  const rater = usePart(useApp().prefs, p => p.rater);
  return (
    <UnblindGate sessionIds={[task.session]} rater={rater} by="lesson" what="This lesson">
      <Lesson task={task} />
    </UnblindGate>
  );
}

const backToLessons = { href: '#/practice', label: 'Back to the lessons' };

function Lesson({ task }: { task: PracticeTask }) {
  const app = useApp();
  const { workspace, problem } = useOpenedWorkspace(left => openPractice(app, task, app.prefs.getState().rater, left));
  if (problem) return <UnavailableScreen words={problem} back={backToLessons} />;
  if (!workspace) return <OpeningScreen what="Opening the lesson" back={backToLessons} />;
  return (
    <WorkspaceContext value={workspace}>
      <PracticeWorkspace workspace={workspace} />
    </WorkspaceContext>
  );
}
