import { useCallback, useEffect, useState } from 'react';
import { nextDifficulty, type ProgressEntry } from '../../core/review/standing/progress';
import { type Difficulty, lessonKinds } from '../../core/simulate/lessons';
import { forgetLesson, type LearnerProgress, progressOf } from '../../state/practice/progress';
import {
  cleanSeed,
  type PracticeTask,
  pathOfTask,
  type ReviewedSource,
  reviewedSources,
  wordSeed,
  workedExample,
} from '../../state/practice/task';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp, usePart } from '../app-context';
import { NoticeList } from '../controls/notices';
import { OwnCodeField } from '../controls/rater-code';
import { CheckResults } from './check-results';
import { ClassForm } from './class-form';
import { Progress } from './progress';

const nothing: LearnerProgress = { begun: [], done: [] };

/** The first page of practice: choose a lesson, go on with one, see how it went so far; a teacher checks what came in. */
export function Choose({ unknown }: { unknown: boolean }) {
  const app = useApp();
  const learner = usePart(app.prefs, p => p.rater);
  const [progress, setProgress] = useState(nothing);
  const [sources, setSources] = useState<readonly ReviewedSource[]>([]);
  const refresh = useCallback(() => {
    const failed = (error: Error) => app.ui.notify(error.message);
    progressOf(app.library, learner).then(setProgress, failed);
    reviewedSources(app.library, learner).then(setSources, failed);
  }, [app, learner]);
  useEffect(refresh, [refresh]);
  return (
    <>
      <NoticeList />
      <main className="start">
        <header className="start-head">
          <div className="practice-words">
            <p className="small">
              <a href="#/">Sessions</a>
            </p>
            <h1>Practice</h1>
            <p>
              Two minutes of simulated ECG with mistakes planted in its marks. Correct them as in a real review; then
              see what you found, what you overlooked, and what gives each place away.
            </p>
          </div>
          <OwnCodeField label="your code" />
        </header>
        {unknown && <p role="alert">There is no such lesson: choose one here.</p>}
        <p className="row">
          <a
            className={progress.done.length + progress.begun.length === 0 ? 'button' : ''}
            href={hashOfScreen({ name: 'practice', task: pathOfTask(workedExample) })}
          >
            See a worked example
          </a>
          <span className="soft">one lesson put right, place by place, with the keys that do it</span>
        </p>
        <Begun progress={progress} learner={learner} onChange={refresh} />
        <LessonForm done={progress.done} />
        <FromSession sources={sources} />
        <Progress done={progress.done} />
        <ClassForm />
        <CheckResults />
        <p className="caution">
          For research and teaching on signal quality. Not a medical device; not for diagnosis, monitoring or treatment.
        </p>
      </main>
    </>
  );
}

function go(task: PracticeTask): void {
  location.hash = hashOfScreen({ name: 'practice', task: pathOfTask(task) });
}

const steps = ['1, gentle', '2', '3, like a real review', '4, one lead', '5, hard'];

function LessonForm({ done }: { done: readonly ProgressEntry[] }) {
  const [id, setId] = useState(lessonKinds[0]!.id);
  const [seed, setSeed] = useState(() => wordSeed([Math.random(), Math.random(), Math.random()]));
  const [chosen, setChosen] = useState<Difficulty | null>(null);
  const suggested = nextDifficulty(done, id);
  const difficulty = chosen ?? suggested;
  return (
    <form
      onSubmit={event => {
        event.preventDefault();
        go({ from: 'seed', id, difficulty, seed: seed.replace(/-+$/, '') });
      }}
    >
      <fieldset className="lessons">
        <legend>Choose a lesson</legend>
        {lessonKinds.map(kind => (
          <label key={kind.id} className={kind.id === id ? 'lesson chosen' : 'lesson'}>
            <input
              type="radio"
              name="lesson"
              value={kind.id}
              checked={kind.id === id}
              onChange={() => {
                setId(kind.id);
                setChosen(null);
              }}
            />
            <span>
              <strong>{kind.title}</strong> <span className="soft small">{timesDone(done, kind.id)}</span>
              <br />
              {kind.about}
            </span>
          </label>
        ))}
      </fieldset>
      <div className="row lesson-settings">
        <label className="field">
          <span>difficulty{chosen === null && done.some(e => e.lesson === id) && ', suggested by your results'}</span>
          <select value={difficulty} onChange={e => setChosen(Number(e.target.value) as Difficulty)}>
            {steps.map((words, i) => (
              <option key={words} value={i + 1}>
                {words}
              </option>
            ))}
          </select>
        </label>
        <label className="field">
          <span>seed: the same one gives a whole class the same lesson</span>
          <input value={seed} required data-testid="seed" onChange={e => setSeed(cleanSeed(e.target.value))} />
        </label>
        <button type="submit" className="chief">
          Start
        </button>
      </div>
    </form>
  );
}

function timesDone(done: readonly ProgressEntry[], id: string): string {
  const own = done.filter(e => e.lesson === id);
  const last = own.at(-1);
  if (!last) return '';
  const share = Math.round((100 * last.points) / last.maxPoints);
  return `done ${own.length === 1 ? 'once' : `${own.length} times`}, last time ${share} % of the points`;
}

function Begun(props: { progress: LearnerProgress; learner: string; onChange: () => void }) {
  const app = useApp();
  const { begun } = props.progress;
  if (begun.length === 0) return null;
  const forget = (session: string) => {
    forgetLesson(app.library, session, props.learner).then(props.onChange, (error: Error) =>
      app.ui.notify(error.message),
    );
  };
  return (
    <section aria-labelledby="begun">
      <h2 id="begun">Started, not finished</h2>
      <ul className="samples">
        {begun.map(b => (
          <li key={b.session} className="row">
            <a href={hashOfScreen({ name: 'practice', task: b.path })}>Continue {b.title}</a>
            <span className="soft small">
              {b.path.slice(1).reverse().join(', difficulty ')}, begun {new Date(b.at).toLocaleString()}
            </span>
            <button type="button" className="quiet" onClick={() => forget(b.session)}>
              Discard
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

function FromSession({ sources }: { sources: readonly ReviewedSource[] }) {
  const [at, setAt] = useState(0);
  return (
    <section aria-labelledby="from-session">
      <h2 id="from-session">Or practise on a real review</h2>
      {sources.length === 0 ? (
        <p className="soft">
          Sessions stored in this browser whose review is finished or settled appear here: what their rater corrected is
          then what you have to find.
        </p>
      ) : (
        <form
          className="row"
          onSubmit={event => {
            event.preventDefault();
            go(sources[at]!.task);
          }}
        >
          <select aria-label="review" value={at} onChange={e => setAt(Number(e.target.value))}>
            {sources.map((s, i) => (
              <option key={pathOfTask(s.task).join('/')} value={i}>
                {s.title}
              </option>
            ))}
          </select>
          <button type="submit">Start on this one</button>
          <span className="soft small">
            Anyone who has practised on a session can no longer be its blind second rater.
          </span>
        </form>
      )}
    </section>
  );
}
