import { type BoardLine, isOverdue, needsSupervisor } from '../../state/sharing/board-line';

const states = {
  all: () => true,
  'not begun': line => line.branches.length === 0 && line.signedOffAt === null,
  'under way': line => line.branches.length > 0 && line.signedOffAt === null,
  'signed off': line => line.signedOffAt !== null,
  overdue: isOverdue,
  'needs you': needsSupervisor,
} satisfies Record<string, (line: BoardLine, today: string) => boolean>;

type StateFilter = keyof typeof states;

export interface BoardFilterState {
  readonly state: StateFilter;
  /** '' for all. */
  readonly rater: string;
  /** Part of a title or an id. */
  readonly session: string;
}

export const everything: BoardFilterState = { state: 'all', rater: '', session: '' };

export function filtered(lines: readonly BoardLine[], filter: BoardFilterState, today: string): readonly BoardLine[] {
  const part = filter.session.trim().toLowerCase();
  return lines.filter(
    line =>
      states[filter.state](line, today) &&
      (filter.rater === '' || line.rater === filter.rater) &&
      (part === '' || `${line.title} ${line.session}`.toLowerCase().includes(part)),
  );
}

/** Totals of all lines in one sentence. */
export function boardTotals(lines: readonly BoardLine[], today: string): string {
  const count = (state: StateFilter) => lines.filter(line => states[state](line, today)).length;
  const minutes = lines.reduce((sum, line) => sum + (line.progress?.minutes ?? 0), 0);
  const parts = [
    `${count('signed off')} of ${lines.length} signed off`,
    `${count('under way')} under way`,
    `${count('not begun')} not begun`,
    `${count('overdue')} overdue`,
  ];
  const needing = count('needs you');
  if (needing > 0) parts.push(`${needing} ${needing === 1 ? 'needs' : 'need'} you`);
  return `${parts.join(', ')}; ${hours(minutes)} at work`;
}

function hours(minutes: number): string {
  return minutes < 90 ? `${Math.round(minutes)} min` : `${(minutes / 60).toFixed(1)} h`;
}

interface Props {
  readonly lines: readonly BoardLine[];
  readonly filter: BoardFilterState;
  readonly onChange: (filter: BoardFilterState) => void;
}

export function BoardFilter({ lines, filter, onChange }: Props) {
  const raters = [...new Set(lines.map(l => l.rater))].sort();
  return (
    <p className="row">
      <label className="row">
        show
        <select value={filter.state} onChange={e => onChange({ ...filter, state: e.target.value as StateFilter })}>
          {Object.keys(states).map(name => (
            <option key={name}>{name}</option>
          ))}
        </select>
      </label>
      <label className="row">
        rater
        <select value={filter.rater} onChange={e => onChange({ ...filter, rater: e.target.value })}>
          <option value="">all</option>
          {raters.map(code => (
            <option key={code}>{code}</option>
          ))}
        </select>
      </label>
      <label className="row">
        session
        <input
          type="search"
          value={filter.session}
          onChange={e => onChange({ ...filter, session: e.target.value })}
          size={16}
        />
      </label>
    </p>
  );
}
