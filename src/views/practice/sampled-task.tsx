import { sampledOf } from '../../state/review/sampling';
import { useApp, usePart, useWorkspace } from '../app-context';
import { KeyCap } from '../controls/key';
import { SamplePanel } from '../sample/sample-panel';

/** What to do in a lesson that is sampled, and how far its interval has come. */
export function SampledTask() {
  const app = useApp();
  const workspace = useWorkspace();
  usePart(workspace.review.store, s => s.replayed);
  const begun = sampledOf(workspace, workspace.view.getState().recordingId).length > 0;
  return (
    <>
      <section aria-label="Your task" data-testid="lesson-task">
        <h2>Your task</h2>
        <p className="lesson-about">
          Say how good the marks of these two hours are without looking through all of them. Stretches drawn at random
          are shown, each in a row of its own; what is greyed is only there for context.
        </p>
        <ol className="lesson-steps">
          <li>
            Correct what is wrong in the stretches: <KeyCap id="mark.remove" /> removes a mark,{' '}
            <KeyCap id="mark.insert" /> inserts one.
          </li>
          <li>
            <KeyCap id="page.accept" /> accepts them, also those without a mistake, and shows the next ones.
          </li>
          <li>
            After each page the interval is narrower. Is it as narrow as wanted? <KeyCap id="practice.done" />, and the
            true quality is shown.
          </li>
        </ol>
        {!begun && (
          <p className="row">
            <button type="button" className="chief" onClick={() => app.runCommand('sample.next')}>
              Show the first stretches <KeyCap id="sample.next" />
            </button>
          </p>
        )}
      </section>
      <SamplePanel />
    </>
  );
}
