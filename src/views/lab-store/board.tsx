import { type ReactNode, useState } from 'react';
import { takeSignedOff } from '../../state/sharing/board';
import type { BoardLine } from '../../state/sharing/board-line';
import { isHidden, withoutAgreement } from '../../state/sharing/hidden-agreement';
import { remoteWords, type SignedIn } from '../../state/sharing/lab-store';
import { chooseBranch, noteHeads } from '../../state/sharing/supervising';
import { useApp } from '../app-context';
import { BoardFilter, type BoardFilterState, boardTotals, everything, filtered } from './board-filter';
import { BoardTable } from './board-table';
import { Drift } from './drift';
import { HiddenAgreement, useHiddenAgreement } from './hidden-agreement';
import { ToSettle } from './to-settle';

interface Props {
  readonly lines: readonly BoardLine[];
  readonly signedIn: SignedIn;
  readonly onChange: () => Promise<void>;
}

/** Lines in the page at once: more make it slow, and nobody reads them. */
const shownAtOnce = 300;

/** Everything a supervisor follows: each review, what there is to settle, and the raters over time. */
export function Board({ lines, ...props }: Props) {
  const { ids, ...hidden } = useHiddenAgreement(lines);
  const open = lines.filter(line => !isHidden(line, ids));
  return (
    <>
      <Reviews lines={withoutAgreement(lines, ids)} hidden={ids} {...props}>
        <HiddenAgreement {...hidden} />
      </Reviews>
      <ToSettle lines={open} />
      <Drift lines={open} />
    </>
  );
}

interface ReviewsProps extends Props {
  readonly hidden: ReadonlySet<string>;
  readonly children: ReactNode;
}

/** Raters by sessions: how far each is, and nothing of what was found before it is signed off. */
function Reviews({ lines, hidden, signedIn, onChange, children }: ReviewsProps) {
  const app = useApp();
  const [filter, setFilter] = useState<BoardFilterState>(everything);
  const today = localDay(app.now());
  const shown = filtered(lines, filter, today);
  const attempt = async (act: () => Promise<string>) => {
    try {
      app.ui.notify(await act(), 'done');
    } catch (error) {
      app.ui.notify(`It was not done: ${remoteWords(error)}.`);
    }
    await onChange();
  };
  const choose = (line: BoardLine, branch: BoardLine['branches'][number]) =>
    void attempt(async () => {
      await chooseBranch(app, signedIn, line, branch);
      return `${line.rater}, ${line.session}: the branch of ${branch.entries} entries counts.`;
    });
  return (
    <section aria-labelledby="store-board">
      <h2 id="store-board">Board</h2>
      <p data-testid="store-totals">{boardTotals(lines, today)}</p>
      <p className="row">
        <button
          type="button"
          onClick={() =>
            void attempt(async () => {
              const taken = await takeSignedOff(app.library, signedIn, lines);
              return `${taken} signed-off reviews were imported.`;
            })
          }
        >
          Import signed-off reviews
        </button>
        {signedIn.role === 'supervisor' && (
          <button
            type="button"
            onClick={() =>
              void attempt(async () => `Heads ${await noteHeads(app, signedIn, lines)} were written down.`)
            }
          >
            Write down heads
          </button>
        )}
      </p>
      <BoardFilter lines={lines} filter={filter} onChange={setFilter} />
      <BoardTable
        lines={shown.slice(0, shownAtOnce)}
        today={today}
        hidden={hidden}
        choose={signedIn.role === 'supervisor' ? choose : null}
      />
      {children}
      {shown.length > shownAtOnce && (
        <p className="soft">
          The first {shownAtOnce} of {shown.length} lines. Choose a rater, a state or a session to see others.
        </p>
      )}
      {shown.length === 0 && <p className="soft">No line fits. Show all, or another rater or session.</p>}
    </section>
  );
}

/** YYYY-MM-DD where the supervisor is. */
function localDay(now: Date): string {
  const two = (n: number) => String(n).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
