import { useState } from 'react';
import type { ClassPlan } from '../../core/review/practice/class-plan';
import type { LessonName } from '../../core/review/practice/practice-lesson';
import { type Difficulty, lessonKinds } from '../../core/simulate/lessons';
import { download } from '../../state/export/exporting';
import { classFile, lessonWords, openClassFile, pathOfPlan } from '../../state/practice/class-files';
import { cleanSeed } from '../../state/practice/task';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp } from '../app-context';
import { ChooseFiles } from '../controls/choose-files';

const empty: ClassPlan = { title: '', lessons: [], inOrder: true, attempts: null, deadline: null, passPercent: 80 };

/** For teachers: the lessons of a class as one link or file; for learners: the way in from such a file. */
export function ClassForm() {
  const app = useApp();
  const [plan, setPlan] = useState(empty);
  const change = (part: Partial<ClassPlan>) => setPlan({ ...plan, ...part });
  const ready = plan.title.trim() !== '' && plan.lessons.length > 0;
  const link = `${location.href.replace(/#.*$/, '')}${hashOfScreen({ name: 'practice', task: pathOfPlan(plan) })}`;
  const opened = (files: readonly File[]) => {
    const [file] = files;
    if (file) void openClassFile(file).catch((error: Error) => app.ui.notify(error.message));
  };
  return (
    <section aria-labelledby="class">
      <h2 id="class">Lessons of a class</h2>
      <p className="row">
        <ChooseFiles title="Open a class file" accept=".json" single testId="class-input" onChoose={opened} />
      </p>
      <details className="class-form" data-testid="class-form">
        <summary>For teachers: give a class its lessons</summary>
        <label className="field">
          <span>title</span>
          <input value={plan.title} maxLength={200} onChange={e => change({ title: e.target.value })} />
        </label>
        <ol>
          {plan.lessons.map((lesson, i) => (
            <li key={lessonWords(lesson)}>
              {lessonWords(lesson)}{' '}
              <button
                type="button"
                className="quiet"
                onClick={() => change({ lessons: plan.lessons.filter((_, k) => k !== i) })}
              >
                Remove<span className="visually-hidden"> {lessonWords(lesson)}</span>
              </button>
            </li>
          ))}
        </ol>
        <AddLesson lessons={plan.lessons} onAdd={lesson => change({ lessons: [...plan.lessons, lesson] })} />
        <Terms plan={plan} onChange={change} />
        <p className="row">
          <button type="button" disabled={!ready} onClick={() => download([classFile(plan)])}>
            Save the class file
          </button>
          {ready && <a href={link}>Link for the class</a>}
        </p>
      </details>
    </section>
  );
}

function AddLesson({ lessons, onAdd }: { lessons: readonly LessonName[]; onAdd: (lesson: LessonName) => void }) {
  const [id, setId] = useState(lessonKinds[0]!.id);
  const [difficulty, setDifficulty] = useState<Difficulty>(2);
  const [seed, setSeed] = useState('');
  const lesson = { id, difficulty, seed: seed.replace(/-+$/, '') };
  const known = lessons.some(l => lessonWords(l) === lessonWords(lesson));
  return (
    <p className="row">
      <select aria-label="lesson" value={id} onChange={e => setId(e.target.value)}>
        {lessonKinds.map(k => (
          <option key={k.id} value={k.id}>
            {k.title}
          </option>
        ))}
      </select>
      <label className="row">
        difficulty
        <input
          type="number"
          min={1}
          max={5}
          value={difficulty}
          onChange={e => {
            const value = e.target.valueAsNumber;
            if ([1, 2, 3, 4, 5].includes(value)) setDifficulty(value as Difficulty);
          }}
        />
      </label>
      <label className="row">
        seed
        <input value={seed} size={12} data-testid="class-seed" onChange={e => setSeed(cleanSeed(e.target.value))} />
      </label>
      <button type="button" disabled={lesson.seed === '' || known} onClick={() => onAdd(lesson)}>
        Add the lesson
      </button>
      <span className="soft small">{lesson.seed === '' ? 'any word as seed' : known && 'already in the list'}</span>
    </p>
  );
}

function Terms({ plan, onChange }: { plan: ClassPlan; onChange: (part: Partial<ClassPlan>) => void }) {
  const whole = (text: string, most: number) => {
    const value = Math.round(Number(text));
    return text === '' || !(value >= 0) ? null : Math.min(most, value);
  };
  return (
    <p className="row">
      <label className="row">
        <input type="checkbox" checked={plan.inOrder} onChange={e => onChange({ inOrder: e.target.checked })} />
        one after the other
      </label>
      <label className="row">
        attempts at each
        <input
          type="number"
          min={1}
          placeholder="any"
          value={plan.attempts ?? ''}
          onChange={e => onChange({ attempts: whole(e.target.value, 100) || null })}
        />
      </label>
      <label className="row">
        pass mark, %
        <input
          type="number"
          min={0}
          max={100}
          placeholder="none"
          value={plan.passPercent ?? ''}
          onChange={e => onChange({ passPercent: whole(e.target.value, 100) })}
        />
      </label>
      <label className="row">
        last day
        <input type="date" value={plan.deadline ?? ''} onChange={e => onChange({ deadline: e.target.value || null })} />
      </label>
    </p>
  );
}
