import { useEffect, useState } from 'react';
import { leaveDesk } from '../../state/opening';
import { openPractice } from '../../state/practice';
import { type PracticeTask, taskOfPath } from '../../state/practice-task';
import { DeskContext, useApp, usePart } from '../app-context';
import { Choose } from './choose';
import { PracticeDesk } from './practice-desk';
import './practice.css';

/** The practice screens: choosing a lesson, working on it, and what it came to. The address says which. */
export function Practice({ path }: { path: readonly string[] }) {
  const task = taskOfPath(path);
  if (task) return <Lesson task={task} />;
  return <Choose unknown={path.length > 0} />;
}

function Lesson({ task }: { task: PracticeTask }) {
  const app = useApp();
  const desk = usePart(app.desk, d => d.desk);
  const [problem, setProblem] = useState('');
  // biome-ignore lint/correctness/useExhaustiveDependencies: the task comes from the address, by which this is keyed
  useEffect(() => {
    let gone = false;
    const open = async () => {
      await app.prefs.load();
      const opened = await openPractice(app, task, app.prefs.getState().rater || 'R1');
      if (gone) await opened.close();
      else app.desk.setState({ desk: opened });
    };
    open().catch((error: Error) => setProblem(error.message));
    return () => {
      gone = true;
      void leaveDesk(app);
    };
  }, [app]);
  if (problem) {
    return (
      <main className="start">
        <p role="alert">{problem}</p>
        <p>
          <a href="#/practice">Back to the lessons</a>
        </p>
      </main>
    );
  }
  if (!desk?.practice) return <main className="start" aria-busy="true" />;
  return (
    <DeskContext value={desk}>
      <PracticeDesk practice={desk.practice} />
    </DeskContext>
  );
}
