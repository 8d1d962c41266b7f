import { useEffect, useRef, useState } from 'react';
import { secondsAtWork } from '../../core/review/practice/practice';
import { nextDifficulty } from '../../core/review/standing/progress';
import { clock } from '../../state/clocks/text';
import { download } from '../../state/export/exporting';
import type { FeedbackItem } from '../../state/practice/feedback';
import { type Practice, showFeedbackPlaces } from '../../state/practice/practice';
import { forgetLesson, progressOf } from '../../state/practice/progress';
import { resultsFile } from '../../state/practice/results';
import { isWorkedExample, pathOfTask } from '../../state/practice/task';
import { leaveWorkspace } from '../../state/review/opening';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp, usePart, useWorkspace } from '../app-context';
import { KeyCap } from '../controls/key';
import { GradeTables } from './grade-tables';
import { TruthSection } from './shown-truth';
import { ExampleIntro, HowPutRight } from './worked-example';

/** What the lesson came to: points, the walk through its places, tables, and where to go from here. */
export function Feedback({ practice }: { practice: Practice }) {
  const workspace = useWorkspace();
  usePart(workspace.review.store, s => s.replayed);
  const at = usePart(workspace.occurrences, w => w.at);
  const items = practice.feedback();
  if (isWorkedExample(practice.task)) {
    return (
      <>
        <ExampleIntro places={items.length} />
        <CurrentPlace items={items} at={at} rateHz={practice.lesson.item.recording.samplingRateHz} withKeys />
        <Places practice={practice} items={items} at={at} />
      </>
    );
  }
  return (
    <>
      <TruthSection shown={practice.truth()} />
      <PlaceOutcome practice={practice} />
      <CurrentPlace items={items} at={at} rateHz={practice.lesson.item.recording.samplingRateHz} />
      <Places practice={practice} items={items} at={at} />
      <GradeTables summary={practice.grade().summary} />
    </>
  );
}

function PlaceOutcome({ practice }: { practice: Practice }) {
  const workspace = useWorkspace();
  const { summary } = practice.grade();
  const seconds = secondsAtWork(workspace.review.get().log.entries.map(e => e.at));
  return (
    <section aria-label="Result" data-testid="result">
      <h2>
        <span className="points" data-testid="points">
          {summary.points} of {summary.maxPoints} points
        </span>
      </h2>
      <p data-testid="counts">
        {summary.found} found, {summary.overlooked} overlooked, {summary.wronglyPlaced} wrongly placed,{' '}
        {numbered(summary.falseAlarms, 'false alarm')}, {numbered(summary.hints, 'hint')}
      </p>
      <p className="soft small">
        {seconds.value === null
          ? `working time unknown: ${seconds.reason}`
          : `${clock(seconds.value)} of work, long breaks not counted`}
      </p>
      <Actions practice={practice} />
    </section>
  );
}

function numbered(count: number, word: string): string {
  return `${count} ${word}${count === 1 ? '' : 's'}`;
}

function Actions({ practice }: { practice: Practice }) {
  const app = useApp();
  const workspace = useWorkspace();
  const { log } = workspace.review.get();
  const next = useNext(practice);
  const save = async () => download([await resultsFile(app.library, practice.lesson, log)]);
  const again = async () => {
    await leaveWorkspace(app);
    await forgetLesson(app.library, practice.lesson.session.id, log.header.rater);
    location.reload();
  };
  return (
    <p className="row">
      {next && (
        <a className="button" href={next.hash}>
          {next.words}
        </a>
      )}
      <button type="button" onClick={() => void save().catch((error: Error) => app.ui.notify(error.message))}>
        Save the results file
      </button>
      <button
        type="button"
        className="quiet"
        onClick={() => void again().catch((error: Error) => app.ui.notify(error.message))}
      >
        Take it again
      </button>
    </p>
  );
}

/** The same lesson on new ground, as hard as the results so far suggest. */
function useNext(practice: Practice): { hash: string; words: string } | null {
  const app = useApp();
  const workspace = useWorkspace();
  const { task } = practice;
  const learner = workspace.review.get().log.header.rater;
  const saving = usePart(workspace.review.store, s => s.saving);
  const [next, setNext] = useState<{ hash: string; words: string } | null>(null);
  useEffect(() => {
    if (task.from !== 'seed' || saving.waiting > 0) return;
    const find = async () => {
      const { done } = await progressOf(app.library, learner);
      const difficulty = nextDifficulty(done, task.id);
      const seed = `${task.seed.replace(/-\d+$/, '')}-${Number(/-(\d+)$/.exec(task.seed)?.[1] ?? 1) + 1}`;
      const path = pathOfTask({ ...task, difficulty, seed });
      setNext({ hash: hashOfScreen({ name: 'practice', task: path }), words: nextWords(difficulty - task.difficulty) });
    };
    find().catch(() => setNext(null));
  }, [app, task, learner, saving]);
  return next;
}

function nextWords(steps: number): string {
  if (steps === 0) return 'Another one like it';
  return steps > 0 ? 'Next, a step harder' : 'Next, a step easier';
}

const marks: Readonly<Record<FeedbackItem['outcome'], string>> = {
  found: 'good',
  'rightly left alone': 'good',
  overlooked: 'bad',
  'wrongly placed': 'bad',
  'false alarm': 'bad',
  'called unreadable': 'bad',
};

function CurrentPlace(props: { items: readonly FeedbackItem[]; at: number; rateHz: number; withKeys?: boolean }) {
  const { items, at, rateHz } = props;
  const item = items[at];
  return (
    <section className="current-place" aria-live="polite" aria-label="Current place" data-testid="place">
      {item ? (
        <>
          <h3>
            {at + 1} of {items.length}, at {clock(item.at / rateHz, 1)}: {item.what},{' '}
            <span className={marks[item.outcome]}>{item.outcome}</span>
          </h3>
          {item.sentences.map(s => (
            <p key={s}>{s}</p>
          ))}
          {props.withKeys && <HowPutRight item={item} />}
        </>
      ) : (
        <p>
          {items.length === 0 ? (
            'This lesson has no places to show.'
          ) : (
            <>
              Now see what gives each of the {items.length} places away: <KeyCap id="practice.next" /> goes to the next,{' '}
              <KeyCap id="practice.previous" /> back.
            </>
          )}
        </p>
      )}
    </section>
  );
}

function Places(props: { practice: Practice; items: readonly FeedbackItem[]; at: number }) {
  const { practice, items, at } = props;
  const app = useApp();
  const workspace = useWorkspace();
  const current = useRef<HTMLButtonElement>(null);
  useEffect(() => {
    if (at >= 0) current.current?.scrollIntoView({ block: 'nearest' });
  }, [at]);
  const rateHz = practice.lesson.item.recording.samplingRateHz;
  const show = (i: number) => {
    showFeedbackPlaces(workspace, practice);
    workspace.occurrences.setState({ at: i - 1 });
    app.runCommand('practice.next');
  };
  return (
    <section aria-label="Places">
      <h2>Places</h2>
      <ol className="queue" data-testid="places">
        {items.map((item, i) => (
          <li key={`${item.at} ${item.what}`}>
            <button
              type="button"
              ref={i === at ? current : null}
              className={i === at ? 'queue-item current' : 'queue-item'}
              aria-current={i === at}
              onClick={() => show(i)}
            >
              {i + 1}. <span className="soft">{clock(item.at / rateHz, 1)}</span> {item.what}:{' '}
              <span className={marks[item.outcome]}>{item.outcome}</span>
            </button>
          </li>
        ))}
      </ol>
    </section>
  );
}
