import { openPractice } from '../../state/practice/practice';
import { type PracticeTask, taskOfPath } from '../../state/practice/task';
import { DeskContext, useApp } from '../app-context';
import { Shut, useOpenedDesk } from '../controls/opened-workspace';
import { Choose } from './choose';
import { PracticeDesk } from './practice-workspace';
import './practice.css';

/** The practice screens: choosing a lesson, working on it, and what it came to. The address says which. */
export function Practice({ path }: { path: readonly string[] }) {
  const task = taskOfPath(path);
  if (task) return <Lesson task={task} />;
  return <Choose unknown={path.length > 0} />;
}

function Lesson({ task }: { task: PracticeTask }) {
  const app = useApp();
  const { desk, problem } = useOpenedDesk(() => openPractice(app, task, app.prefs.getState().rater || 'R1'));
  if (problem) return <Shut words={problem} back={{ href: '#/practice', label: 'Back to the lessons' }} />;
  if (!desk?.practice) return <main className="start" aria-busy="true" />;
  return (
    <DeskContext value={desk}>
      <PracticeDesk practice={desk.practice} />
    </DeskContext>
  );
}
