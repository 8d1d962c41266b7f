import { finishLesson } from '../../commands/practice';
import { coverageOfAll } from '../../core/review/standing/coverage';
import { sampledQualityWords, sampledWords } from '../../core/review/standing/sampled-words';
import { wholePercent } from '../../core/review/standing/standing-words';
import type { LessonWorkspace } from '../../state/practice/practice';
import { reviewOf } from '../../state/review/review-store';
import { sampledOf } from '../../state/review/sampling';
import type { Dialog } from '../../state/stores/ui-store';
import { useApp } from '../app-context';
import { Sheet } from '../controls/dialog';

/** Being done is final: after it the answers are on the table. */
export function DoneDialog({ workspace }: { workspace: LessonWorkspace }) {
  const app = useApp();
  const { practice } = workspace;
  const close = () => app.ui.openDialog(null);
  const { item } = practice.lesson;
  const coverage = coverageOfAll(item, reviewOf(workspace.review.get(), item.recording.id));
  const seen = coverage.totalSeconds > 0 ? coverage.seenSeconds / coverage.totalSeconds : 1;
  if (practice.done()) {
    return (
      <Sheet title="This lesson is done" onClose={close}>
        <p className="sheet-body">
          You have seen its answers, so it takes no more edits. “Take it again” beside the strip restarts it.
        </p>
      </Sheet>
    );
  }
  const { access } = workspace.review.get();
  return (
    <Sheet title="Done with this lesson?" onClose={close}>
      <form
        className="sheet-body"
        onSubmit={event => {
          event.preventDefault();
          finishLesson(workspace, app);
        }}
      >
        <p>
          {practice.lesson.sample ? sampledSoFar(workspace) : lookedAtWords(seen)} It is graded now, and the answers are
          shown.
        </p>
        {!access.writable && <p className="needs">{access.why}</p>}
        <div className="row end">
          <button type="button" onClick={close}>
            Go on working
          </button>
          <button data-focus type="submit" className="chief" disabled={!access.writable}>
            Grade it
          </button>
        </div>
      </form>
    </Sheet>
  );
}

function lookedAtWords(seen: number): string {
  if (seen === 1) return 'You have looked at all of it.';
  return `You have looked at ${wholePercent(seen)} of it: mistakes in the rest count as overlooked.`;
}

function sampledSoFar(workspace: LessonWorkspace): string {
  const whole = sampledOf(workspace, workspace.practice.lesson.item.recording.id)[0]?.whole;
  if (!whole) return 'You have reviewed no stretch yet.';
  const width = whole.reached ? 'is as narrow as wanted' : `is not within ±${whole.wantedPoints} points yet`;
  return `Your sample: ${sampledWords(whole)}, ${sampledQualityWords(whole)}. The interval ${width}.`;
}

/** Sheets of a review that a lesson has nothing to do with, and why. */
export const notInLesson: Partial<Record<Dialog, string>> = {
  segments: 'The segments of a lesson are fixed, so that everybody’s results can be compared.',
  export: 'To hand in a lesson, finish it and save the results file beside the strip.',
};

export function NotInLesson({ dialog }: { dialog: Dialog }) {
  const app = useApp();
  return (
    <Sheet title="Not in a lesson" onClose={() => app.ui.openDialog(null)}>
      <p className="sheet-body">{notInLesson[dialog]}</p>
    </Sheet>
  );
}
