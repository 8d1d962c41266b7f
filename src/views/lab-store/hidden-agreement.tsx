import { useCallback, useEffect, useState } from 'react';
import { type BlindSession, saveUnblinding } from '../../state/review/unblinding';
import type { BoardLine } from '../../state/sharing/board-line';
import { comparedSessions, hiddenSessions } from '../../state/sharing/hidden-agreement';
import { useApp, usePart } from '../app-context';

interface Hidden {
  /** Sessions of which nothing about agreement may be shown. */
  readonly ids: ReadonlySet<string>;
  readonly sessions: readonly BlindSession[];
  readonly show: (sessions: readonly BlindSession[]) => void;
}

interface Found {
  readonly rater: string;
  /** Sessions that were looked up: those that are new on the board stay hidden until they were. */
  readonly of: ReadonlySet<string>;
  readonly sessions: readonly BlindSession[];
}

const nothing: Found = { rater: '', of: new Set(), sessions: [] };

/** Whose agreement is hidden from whoever looks. */
export function useHiddenAgreement(lines: readonly BoardLine[]): Hidden {
  const app = useApp();
  const rater = usePart(app.prefs, s => s.rater);
  const [last, setFound] = useState<Found>(nothing);
  const found = last.rater === rater ? last : nothing;
  const look = useCallback(
    (isGone: () => boolean) =>
      hiddenSessions(app, lines, rater).then(
        sessions => isGone() || setFound({ rater, of: new Set(comparedSessions(lines)), sessions }),
        (error: Error) => app.ui.notify(error.message),
      ),
    [app, lines, rater],
  );
  useEffect(() => {
    let gone = false;
    void look(() => gone);
    return () => {
      gone = true;
    };
  }, [look]);
  const show = (chosen: readonly BlindSession[]) =>
    void saveUnblinding(app, chosen, rater, 'store')
      .catch((error: Error) => app.ui.notify(error.message))
      .finally(() => look(() => false));
  const unknown = comparedSessions(lines).filter(id => !found.of.has(id));
  return { ids: new Set([...unknown, ...found.sessions.map(s => s.id)]), sessions: found.sessions, show };
}

/** Says what is hidden and what it means to show it. */
export function HiddenAgreement({ sessions, show }: Omit<Hidden, 'ids'>) {
  const app = useApp();
  const rater = usePart(app.prefs, s => s.rater);
  const open = sessions.filter(s => !s.begun);
  const begun = sessions.filter(s => s.begun);
  if (open.length + begun.length === 0) return null;
  const titles = (of: readonly BlindSession[]) => of.map(s => s.title).join('; ');
  const [it, pronoun] = open.length === 1 ? ['1 session', 'it'] : [`${open.length} sessions`, 'them'];
  return (
    <section aria-labelledby="hidden-agreement" data-testid="hidden-agreement">
      <h3 id="hidden-agreement">Hidden agreement</h3>
      {begun.length > 0 && (
        <p>
          {titles(begun)}: the review of {rater} is not finished, so agreement of the others stays hidden until it is.
        </p>
      )}
      {open.length > 0 && (
        <>
          <p>
            How well the raters agree is hidden for {it} that {rater} may still rate: {titles(open)}. If you show it,
            this is recorded, and a later review of {pronoun} by {rater} says “not blind” in every table.
          </p>
          <p>
            <button type="button" onClick={() => show(open)}>
              Show agreement
            </button>
          </p>
        </>
      )}
    </section>
  );
}
