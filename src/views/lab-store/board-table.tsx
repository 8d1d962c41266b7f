import { sampledWords } from '../../core/review/standing/sampled-words';
import { wholePercent } from '../../core/review/standing/standing-words';
import { type BoardLine, type BranchEnd, isOverdue } from '../../state/sharing/board-line';
import { isHidden } from '../../state/sharing/hidden-agreement';
import { hashOfScreen } from '../../state/stores/ui-store';
import { TableHead } from '../controls/table-head';

interface Props {
  readonly lines: readonly BoardLine[];
  /** YYYY-MM-DD. */
  readonly today: string;
  /** Sessions whose agreement is not shown. */
  readonly hidden: ReadonlySet<string>;
  /** Null for who may not choose a branch. */
  readonly choose: ((line: BoardLine, branch: BranchEnd) => void) | null;
}

const columns = [
  'session',
  { left: 'rater' },
  { left: 'task' },
  'due',
  { left: 'state' },
  'looked at',
  'marks left',
  'F1 with other rater',
  'kappa',
  'minutes',
  'last entry',
  'segments signed off',
  'entries',
];

/** One line for each rater and session. */
export function BoardTable({ lines, today, hidden, choose }: Props) {
  return (
    <div className="lab-store-scroll">
      <table data-testid="store-board">
        <TableHead columns={columns} />
        <tbody>
          {lines.map(line => (
            <Line
              key={`${line.rater}/${line.session}/${line.place}`}
              line={line}
              today={today}
              hidden={hidden}
              choose={choose}
            />
          ))}
        </tbody>
      </table>
    </div>
  );
}

function Line({ line, today, hidden, choose }: Omit<Props, 'lines'> & { readonly line: BoardLine }) {
  const { progress, agreement, branches, passedOver } = line;
  const last = branches[0]?.at;
  const unknown = isHidden(line, hidden) && line.signedOffAt !== null ? <span className="soft">hidden</span> : '';
  return (
    <tr data-line={`${line.rater}/${line.session}`}>
      <th scope="row">
        <a href={hashOfScreen({ name: 'compare', sessionId: line.session })}>{line.title}</a>
      </th>
      <td className="left">{line.rater}</td>
      <td className="left">{taskWords(line)}</td>
      <td className={isOverdue(line, today) ? 'needs' : undefined}>
        {line.due ?? ''}
        {isOverdue(line, today) && ' overdue'}
      </td>
      <td className="left wrap" data-cell="state">
        <State line={line} />
        {choose && branches.length > 1 && <Branches of={branches} choose={branch => choose(line, branch)} />}
        {passedOver.length > 0 && branches.length === 1 && (
          <div className="soft small">
            The branch of {branches[0]!.entries} entries counts, chosen of {passedOver.length + 1}.
            {choose && <Branches of={passedOver} choose={branch => choose(line, branch)} />}
          </div>
        )}
      </td>
      <td data-cell="looked">
        {progress ? wholePercent(progress.lookedAtShare) : ''}
        {progress?.sampled && <div className="soft small">{sampledWords(progress.sampled)}</div>}
      </td>
      <td data-cell="marks-left">{progress?.marksLeft ?? ''}</td>
      <td data-cell="f1">{agreement?.f1.value == null ? unknown : agreement.f1.value.toFixed(3)}</td>
      <td data-cell="kappa">{agreement?.kappa.value == null ? unknown : agreement.kappa.value.toFixed(2)}</td>
      <td>{progress ? Math.round(progress.minutes) : ''}</td>
      <td>{last ? shortTime(last) : ''}</td>
      <td>{progress ? `${progress.signedOffSegments} of ${progress.segments}` : ''}</td>
      <td>{branches.length === 1 ? branches[0]!.entries : ''}</td>
    </tr>
  );
}

/** Which branch of a forked log counts; the choice may be another one later. */
function Branches({ of, choose }: { of: readonly BranchEnd[]; choose: (branch: BranchEnd) => void }) {
  return (
    <span className="row">
      {of.map(branch => (
        <button type="button" key={branch.head} onClick={() => choose(branch)}>
          The branch of {branch.entries} entries counts, last {shortTime(branch.at)}
        </button>
      ))}
    </span>
  );
}

function shortTime(at: string): string {
  return new Date(at).toLocaleString(undefined, { dateStyle: 'short', timeStyle: 'short' });
}

function taskWords({ place, calibration, repeats }: BoardLine): string {
  if (repeats !== null) return 'repeated';
  if (calibration) return place === 'first' ? 'calibration, reference' : 'calibration';
  return place === 'settles' ? 'settles' : `${place} rating`;
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
  return line.progress ? <>under way</> : <>under way; import the session here to see how far</>;
}
