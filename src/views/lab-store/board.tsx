import { useState } from 'react';
import { type BoardLine, takeSignedOff } from '../../state/sharing/board';
import { remoteWords, type SignedIn } from '../../state/sharing/lab-store';
import { chooseBranch, noteHeads } from '../../state/sharing/supervising';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp } from '../app-context';

type Filter = 'all' | 'open' | 'signed off' | 'needs you';

const filters: Record<Filter, (line: BoardLine) => boolean> = {
  all: () => true,
  open: line => line.signedOffAt === null,
  'signed off': line => line.signedOffAt !== null,
  'needs you': line => line.branches.length > 1 || line.problems.length > 0 || line.signedOffEntries === 0,
};

interface Props {
  readonly lines: readonly BoardLine[];
  readonly signedIn: SignedIn;
  readonly onChange: () => Promise<void>;
}

/** Raters by sessions: how far each is, and nothing of what was found before it is signed off. */
export function Board({ lines, signedIn, onChange }: Props) {
  const app = useApp();
  const [filter, setFilter] = useState<Filter>('all');
  const shown = lines.filter(filters[filter]);
  const attempt = async (act: () => Promise<string>) => {
    try {
      app.ui.notify(await act(), 'done');
    } catch (error) {
      app.ui.notify(`It was not done: ${remoteWords(error)}.`);
    }
    await onChange();
  };
  return (
    <section aria-labelledby="store-board">
      <h2 id="store-board">Board</h2>
      <p className="row">
        <span data-testid="store-totals">
          {lines.filter(l => l.signedOffAt !== null).length} of {lines.length} signed off
        </span>
        <label className="row">
          show
          <select value={filter} onChange={e => setFilter(e.target.value as Filter)}>
            {Object.keys(filters).map(name => (
              <option key={name}>{name}</option>
            ))}
          </select>
        </label>
        <button
          type="button"
          onClick={() =>
            void attempt(async () => `${await takeSignedOff(app.library, lines)} signed-off reviews were imported.`)
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
      <div className="lab-store-scroll">
        <table data-testid="store-board">
          <thead>
            <tr>
              <th scope="col">session</th>
              <th scope="col" className="left">
                rater
              </th>
              <th scope="col" className="left">
                task
              </th>
              <th scope="col">due</th>
              <th scope="col">entries</th>
              <th scope="col">looked at</th>
              <th scope="col">segments signed off</th>
              <th scope="col">minutes</th>
              <th scope="col">last entry</th>
              <th scope="col" className="left">
                state
              </th>
              <th scope="col">F1 with other rater</th>
              <th scope="col">kappa</th>
            </tr>
          </thead>
          <tbody>
            {shown.map(line => (
              <Line
                key={`${line.rater}/${line.session}/${line.place}`}
                line={line}
                choose={
                  signedIn.role === 'supervisor'
                    ? async i =>
                        attempt(async () => {
                          await chooseBranch(app, signedIn, line.branches[i]!);
                          return `${line.rater}, ${line.session}: branch ${i + 1} counts.`;
                        })
                    : null
                }
              />
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function Line({ line, choose }: { line: BoardLine; choose: ((branch: number) => Promise<void>) | null }) {
  const { progress, agreement } = line;
  return (
    <tr data-line={`${line.rater}/${line.session}`}>
      <th scope="row">
        <a href={hashOfScreen({ name: 'compare', sessionId: line.session })}>{line.title}</a>
      </th>
      <td className="left">{line.rater}</td>
      <td className="left">{line.place === 'settles' ? 'settles' : `${line.place} rating`}</td>
      <td>{line.due ?? ''}</td>
      <td>{progress?.entries ?? ''}</td>
      <td data-cell="looked">{progress ? `${Math.floor(100 * progress.lookedAtShare)} %` : ''}</td>
      <td>{progress ? `${progress.signedOffSegments} of ${progress.segments}` : ''}</td>
      <td>{progress ? Math.round(progress.minutes) : ''}</td>
      <td>{progress?.lastAt ? new Date(progress.lastAt).toLocaleString() : ''}</td>
      <td className="left wrap" data-cell="state">
        <State line={line} />
        {choose && line.branches.length > 1 && (
          <span className="row">
            {line.branches.map((branch, i) => (
              <button type="button" key={branch.entries.at(-1)!.hash} onClick={() => void choose(i)}>
                Branch {i + 1} counts ({branch.entries.length} entries, last{' '}
                {new Date(branch.entries.at(-1)!.at).toLocaleString()})
              </button>
            ))}
          </span>
        )}
      </td>
      <td data-cell="f1">{agreement?.f1.value == null ? '' : agreement.f1.value.toFixed(3)}</td>
      <td data-cell="kappa">{agreement?.kappa.value == null ? '' : agreement.kappa.value.toFixed(2)}</td>
    </tr>
  );
}

function State({ line }: { line: BoardLine }) {
  if (line.problems.length > 0) return <span className="needs">{line.problems.join('; ')}</span>;
  if (line.branches.length > 1) return <span className="needs">forked: {line.branches.length} branches </span>;
  if (line.signedOffEntries === 0)
    return <span className="needs">signed off without any entry: not a blind rating</span>;
  if (line.signedOffAt !== null) {
    return <>signed off{line.later > 0 ? `, ${line.later} later entries, which do not count as blind` : ''}</>;
  }
  if (line.branches.length === 0) return <>not begun</>;
  return line.progress ? <>under way</> : <>under way; open the session here to see how far</>;
}
