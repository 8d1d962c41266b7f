import { useEffect, useState } from 'react';
import { type ClassPlan, isAfter, type LessonStanding, planStandings } from '../../core/review/practice/class-plan';
import { finishedAttempts, lessonWords } from '../../state/practice/class-files';
import { pathOfTask } from '../../state/practice/task';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp, usePart } from '../app-context';
import { NoticeList } from '../controls/notices';
import { OwnCodeField } from '../controls/rater-code';
import { TableHead } from '../controls/table-head';

/** The lessons that a teacher has given a class, and how this learner stands with each. */
export function ClassLessons({ plan }: { plan: ClassPlan }) {
  const app = useApp();
  const learner = usePart(app.prefs, p => p.rater);
  const [standings, setStandings] = useState<readonly LessonStanding[]>([]);
  useEffect(() => {
    finishedAttempts(app.library, plan, learner).then(
      finishedOf => setStandings(planStandings(plan, finishedOf)),
      (error: Error) => app.ui.notify(error.message),
    );
  }, [app, plan, learner]);
  const late = plan.deadline !== null && isAfter(app.now().toISOString(), plan.deadline);
  return (
    <>
      <NoticeList />
      <main className="start">
        <header className="start-head">
          <div className="practice-words">
            <p className="small">
              <a href="#/practice">Lessons</a>
            </p>
            <h1>{plan.title}</h1>
            <p>{termsOf(plan).join('; ')}</p>
          </div>
          <OwnCodeField label="your code" />
        </header>
        {late && <p role="alert">The last day has passed: what you hand in now is marked as late.</p>}
        <table data-testid="class-lessons">
          <TableHead columns={['lesson', 'attempts', 'best', { left: 'state' }]} />
          <tbody>
            {standings.map(s => (
              <Lesson key={lessonWords(s.lesson)} standing={s} />
            ))}
          </tbody>
        </table>
        <p className="soft">
          After each lesson save its results file beside the strip, and hand it in. Attempts are counted on this device.
        </p>
      </main>
    </>
  );
}

function Lesson({ standing }: { standing: LessonStanding }) {
  const { lesson, attempts, bestPercent, passed, closed } = standing;
  const address = hashOfScreen({ name: 'practice', task: pathOfTask({ from: 'seed', ...lesson }) });
  const words = lessonWords(lesson);
  return (
    <tr>
      <th scope="row">{closed === null || attempts > 0 ? <a href={address}>{words}</a> : words}</th>
      <td>{attempts}</td>
      <td>{bestPercent === null ? '–' : `${Math.floor(bestPercent)} %`}</td>
      <td className="left">{[passed ? 'passed' : '', closed ?? ''].filter(w => w !== '').join('; ') || 'open'}</td>
    </tr>
  );
}

function termsOf({ inOrder, attempts, passPercent, deadline }: ClassPlan): string[] {
  const terms = [inOrder ? 'One lesson after the other' : 'In any order'];
  if (passPercent !== null) terms.push(`passed from ${passPercent} % of the points on`);
  if (attempts !== null) terms.push(attempts === 1 ? 'one attempt at each' : `${attempts} attempts at each`);
  if (deadline !== null) terms.push(`last day ${deadline}`);
  return terms;
}
