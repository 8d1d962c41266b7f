import { useEffect, useRef } from 'react';
import type { Intent } from '../../core/marks/log';
import { useApp, usePart, useWorkspace } from '../app-context';
import { KeyCap } from '../controls/key';

interface Step {
  readonly say: string;
  /** Commands whose keys are shown, in order. */
  readonly commands: readonly string[];
  /** What must happen for the step to be done. */
  readonly done: { readonly moved?: number; readonly intents?: readonly Intent[]; readonly undone?: true };
}

/** Ten small acts on the first page, from stepping to accepting. */
const steps: readonly Step[] = [
  { say: 'Step from beat to beat. The bracket is on the current beat.', commands: ['mark.next'], done: { moved: 2 } },
  {
    say: 'The two lanes below hold the mark as detected and as reviewed. Keep this one: it becomes a plain tick.',
    commands: ['mark.keep'],
    done: { intents: ['accept'] },
  },
  {
    say: 'Move it a sample: the two ticks are joined by a slanted line.',
    commands: ['mark.right'],
    done: { intents: ['move'] },
  },
  { say: 'Undo that. Undo goes back as far as you like.', commands: ['edit.undo'], done: { undone: true } },
  {
    say: 'Remove a mark: the detected tick is struck through.',
    commands: ['mark.remove'],
    done: { intents: ['delete'] },
  },
  {
    say: 'The beat is still there: insert a mark. It looks for the R apex by itself.',
    commands: ['mark.insert'],
    done: { intents: ['insert'] },
  },
  {
    say: 'Where the beats cannot be read, begin an unreadable span, move on, and end it with the same key.',
    commands: ['span.unreadable', 'mark.next', 'span.unreadable'],
    done: { intents: ['unreadable'] },
  },
  { say: 'That was only a trial: undo it.', commands: ['edit.undo'], done: { undone: true } },
  {
    say: 'Now the whole way through is one key: it goes to each place worth a look on the page, then accepts the page and turns it.',
    commands: ['place.next'],
    done: { moved: 1 },
  },
  {
    say: 'At such a place take the suggestion, or set the place aside: both go on to the next one. Or correct it by hand. Accept a page that is right as it is.',
    commands: ['suspicion.take', 'suspicion.dismiss', 'page.accept'],
    done: { intents: ['dismiss', 'move', 'delete', 'insert', 'unreadable', 'accept'] },
  },
];

/** Takes a newcomer through ten beats; waits for each act, never stands in the way, and goes on where it was left. */
export function Guide() {
  const app = useApp();
  const workspace = useWorkspace();
  const guided = usePart(app.prefs, p => p.guided);
  const changeable = usePart(workspace.review.store, s => s.access.writable && !s.replayed.finished);
  const entry = usePart(workspace.review.store, s => s.last);
  const caret = usePart(workspace.view, v => v.caret);
  const at = usePart(app.prefs, p => p.guideStep);
  const begun = useRef({ entry, caret, carets: 0 });
  const step = steps[at];
  useEffect(() => {
    if (!step) return;
    const before = begun.current;
    if (caret !== before.caret) before.carets++;
    const fresh = entry !== before.entry ? entry : null;
    const { moved, intents, undone } = step.done;
    const happened =
      (moved !== undefined && before.carets >= moved) ||
      (fresh !== null && fresh.undoes === undefined && intents?.includes(fresh.intent)) ||
      (undone && fresh?.undoes !== undefined);
    begun.current = { entry, caret, carets: happened ? 0 : before.carets };
    if (happened) app.prefs.change({ guideStep: at + 1 });
  }, [app, step, at, entry, caret]);
  // Its acts are corrections: where none is taken there is nothing to try.
  if (guided || !changeable) return null;
  const end = () => app.prefs.change({ guided: true });
  if (!step) {
    return (
      <section aria-label="First ten beats" className="guide-section">
        <h2>That is all you need</h2>
        <p>
          Go through every page like this, sign off each segment, and finish the review. The help sheet lists every key.
        </p>
        <button type="button" onClick={end}>
          Close this
        </button>
      </section>
    );
  }
  return (
    <section aria-label="First ten beats" className="guide-section" data-testid="guide">
      <h2>
        First ten beats{' '}
        <span className="soft">
          {at + 1} of {steps.length}
        </span>
      </h2>
      <p aria-live="polite">{step.say}</p>
      <p className="row">
        {step.commands.map((id, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: the same key may be pressed twice in a row
          <KeyCap key={`${id} ${i}`} id={id} />
        ))}
        <button type="button" className="quiet" onClick={end}>
          I know my way
        </button>
      </p>
    </section>
  );
}
