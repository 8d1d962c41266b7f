import { useMemo, useState } from 'react';
import type { ClassPlan } from '../../core/review/practice/class-plan';
import type { CheckedResults } from '../../core/review/practice/practice-results';
import { readClassPlan } from '../../formats/practice/class-plan';
import { clock } from '../../state/clocks/text';
import { lessonTitle } from '../../state/practice/progress';
import { checkResultsFile } from '../../state/practice/results';
import { useApp } from '../app-context';
import { ChooseFiles } from '../controls/choose-files';
import { TableHead } from '../controls/table-head';
import { ClassTable } from './class-table';

interface Checked {
  readonly name: string;
  readonly result: CheckedResults;
}

/** For teachers: results files are graded again from their logs against the lesson's seed. */
export function CheckResults() {
  const app = useApp();
  const [checked, setChecked] = useState<readonly Checked[]>([]);
  const [plan, setPlan] = useState<ClassPlan | null>(null);
  const check = async (files: readonly File[]) => {
    const out: Checked[] = [];
    for (const file of files)
      out.push({ name: file.name, result: await checkResultsFile(app.library, await file.text()) });
    setChecked(out);
  };
  const judge = async (file: File) => setPlan(readClassPlan(await file.text(), file.name));
  const handedIn = useMemo(
    () => checked.flatMap(({ name, result }) => (result.ok ? [{ file: name, results: result.results }] : [])),
    [checked],
  );
  return (
    <section aria-labelledby="check">
      <h2 id="check">For teachers: check results files</h2>
      <p>
        Each file carries the learner’s whole log. It is graded again here against the lesson’s seed, and any change to
        it shows.
      </p>
      <div className="row">
        <ChooseFiles
          title="Choose results files"
          accept=".json"
          testId="results-input"
          onChoose={files => void check(files).catch((error: Error) => app.ui.notify(error.message))}
        />
        <ChooseFiles
          title="Judge by a class file"
          accept=".json"
          single
          testId="judge-input"
          onChoose={files => void judge(files[0]!).catch((error: Error) => app.ui.notify(error.message))}
        />
        {plan && <span className="soft">Judged by {plan.title}.</span>}
      </div>
      {checked.length > 0 && <Answers checked={checked} />}
      {handedIn.length > 1 && <ClassTable handedIn={handedIn} plan={plan} />}
    </section>
  );
}

function Answers({ checked }: { checked: readonly Checked[] }) {
  return (
    <table data-testid="checked" aria-live="polite">
      <TableHead columns={['learner', { left: 'lesson' }, 'points', 'hints', 'time', { left: 'check' }]} />
      <tbody>
        {checked.map(({ name, result }, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: two files may have one name
          <AnswerRow key={`${name} ${i}`} name={name} result={result} />
        ))}
      </tbody>
    </table>
  );
}

function AnswerRow({ name, result }: Checked) {
  if (!result.ok) {
    return (
      <tr>
        <th scope="row">{name}</th>
        <td colSpan={4} />
        <td className="left wrap needs">refused: {result.why}</td>
      </tr>
    );
  }
  const { learner, lesson, grade, seconds } = result.results;
  return (
    <tr>
      <th scope="row">{learner}</th>
      <td className="left wrap">
        {lessonTitle(lesson.id)}
        {lesson.seed && `, seed ${lesson.seed}, difficulty ${lesson.difficulty}`}
      </td>
      <td>
        {grade.points} of {grade.maxPoints}
      </td>
      <td>{grade.hints}</td>
      <td>{seconds === null ? 'not known' : clock(seconds)}</td>
      <td className="left">agrees with its log and {lesson.seed ? 'seed' : 'the review stored here'}</td>
    </tr>
  );
}
