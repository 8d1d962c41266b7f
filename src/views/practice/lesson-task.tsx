import { hintSteps, pointsFor } from '../../core/review/practice/practice';
import { lessonKinds } from '../../core/simulate/lessons';
import { clock } from '../../state/clocks/text';
import { hintWords } from '../../state/practice/hints';
import type { Practice } from '../../state/practice/practice';
import { usePart, useWorkspace } from '../app-context';
import { KeyCap } from '../controls/key';

/** What to do in this lesson, in the order a hand does it; and the hints taken so far. */
export function LessonTask({ practice }: { practice: Practice }) {
  const { task } = practice;
  const about =
    task.from === 'seed'
      ? lessonKinds.find(k => k.id === task.id)!.about
      : 'A real review: find what its rater corrected, and leave the rest.';
  return (
    <>
      <section aria-label="Your task" data-testid="lesson-task">
        <h2>Your task</h2>
        <p className="lesson-about">{about}</p>
        <ol className="lesson-steps">
          <li>
            Step from mark to mark with <KeyCap id="mark.next" />, or turn the page with <KeyCap id="page.next" />.
          </li>
          <li>
            Is a mark wrong? <KeyCap id="mark.remove" /> removes it; <KeyCap id="mark.snap" /> or{' '}
            <KeyCap id="mark.left" /> <KeyCap id="mark.right" /> put it on the peak.
          </li>
          <li>
            A beat without a mark? Go there with <KeyCap id="caret.right" /> and press <KeyCap id="mark.insert" />.
          </li>
          <li>
            It cannot be read? <KeyCap id="span.unreadable" /> at its start, <KeyCap id="span.unreadable" /> at its end.
          </li>
          <li>
            Wrong key? <KeyCap id="edit.undo" /> takes it back. All looked through? <KeyCap id="practice.done" />.
          </li>
        </ol>
      </section>
      <Hints practice={practice} />
    </>
  );
}

function Hints({ practice }: { practice: Practice }) {
  const workspace = useWorkspace();
  usePart(workspace.review.store, s => s.replayed);
  const taken = practice.hints();
  const rateHz = practice.lesson.item.recording.samplingRateHz;
  const places = practice.hinted();
  return (
    <section aria-label="Hints" data-testid="hints">
      <h2>
        Hints{' '}
        <span className="soft">
          {taken === 0
            ? `none taken, ${-pointsFor.hint} points each in ${hintSteps} steps`
            : `${taken} taken, −${-practice.hintPoints()} points`}
        </span>
      </h2>
      {taken === 0 && (
        <p className="soft small">
          Stuck? <KeyCap id="practice.hint" /> names a stretch to look through; pressed again, the place; and at last
          what gives it away.
        </p>
      )}
      <ul className="hint-list">
        {places.map(shown => (
          <li key={`${shown.place.kind} ${shown.place.span.start}`}>
            {clock(shown.span.start / rateHz, 1)} to {clock(shown.span.end / rateHz, 1)}: {hintWords(shown)}
          </li>
        ))}
      </ul>
    </section>
  );
}
