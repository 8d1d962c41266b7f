import { useEffect, useMemo, useState } from 'react';
import {
  allSessions,
  chosenSessions,
  groupsByStudy,
  type ListChoice,
  reviewStates,
  type SessionProgress,
  sessionOrders,
} from '../../state/sessions/listing';
import type { CatalogueEntry } from '../../storage/sessions';
import { useApp, usePart } from '../app-context';
import { TableHead } from '../controls/table-head';
import { SessionRow } from './session-row';

/** From so many sessions on, they can be searched and sorted. */
const manySessions = 8;
const rowsAtATime = 50;

type Known = ReadonlyMap<string, SessionProgress>;
type StudyTitle = { readonly title: string; readonly sessions: readonly string[] };

/** The sessions kept in this browser, with how far each is. */
export function SessionList({ sessions, onChange }: { sessions: readonly CatalogueEntry[]; onChange: () => void }) {
  const known = useProgress(sessions);
  const studies = useStudies(sessions);
  const [choice, setChoice] = useState<ListChoice>(allSessions);
  const [limit, setLimit] = useState(rowsAtATime);
  const change = (part: Partial<ListChoice>) => {
    setChoice({ ...choice, ...part });
    setLimit(rowsAtATime);
  };
  const chosen = useMemo(() => chosenSessions(sessions, known, studies, choice), [sessions, known, studies, choice]);
  const groups = choice.byStudy ? groupsByStudy(chosen, studies) : [{ study: null, sessions: chosen }];
  let room = limit;
  const shown = groups.map(g => {
    const part = g.sessions.slice(0, room);
    room -= part.length;
    return { ...g, part };
  });
  const total = groups.reduce((n, g) => n + g.sessions.length, 0);
  return (
    <>
      {sessions.length >= manySessions && (
        <ListControls choice={choice} onChange={change} withStudies={studies.length > 0} />
      )}
      {sessions.length >= manySessions && (
        <p className="soft small" role="status" data-testid="sessions-shown">
          {total === 0 ? 'No session is like that' : `${Math.min(limit, total)} of ${total} shown`}
          {chosen.length < sessions.length ? `, ${sessions.length} in this browser` : ''}
        </p>
      )}
      <table data-testid="sessions">
        <Head />
        {shown
          .filter(g => g.part.length > 0)
          .map(g => (
            <tbody key={g.study ?? ''}>
              {choice.byStudy && (
                <tr>
                  <th scope="rowgroup" colSpan={8} className="study-group">
                    {g.study ?? 'In no study'} <span className="soft">{g.sessions.length}</span>
                  </th>
                </tr>
              )}
              {g.part.map(s => (
                <SessionRow key={s.id} entry={s} progress={known.get(s.id)} onChange={onChange} />
              ))}
            </tbody>
          ))}
      </table>
      {total > limit && (
        <p>
          <button type="button" onClick={() => setLimit(limit + rowsAtATime)}>
            Show {Math.min(rowsAtATime, total - limit)} more
          </button>
        </p>
      )}
    </>
  );
}

function Head() {
  return (
    <TableHead
      columns={[
        'session',
        { left: 'recorders' },
        { left: 'reviews' },
        'looked at',
        'signed off',
        'length',
        'last opened or changed',
        { hidden: 'actions' },
      ]}
    />
  );
}

function ListControls(props: {
  choice: ListChoice;
  onChange: (part: Partial<ListChoice>) => void;
  withStudies: boolean;
}) {
  const { choice, onChange, withStudies } = props;
  return (
    <search className="row">
      <label className="row">
        search
        <input
          type="search"
          value={choice.text}
          data-testid="session-search"
          onChange={e => onChange({ text: e.target.value })}
        />
      </label>
      <Choice
        label="your review"
        value={choice.state}
        of={['all', ...reviewStates]}
        onChange={state => onChange({ state })}
      />
      <Choice label="order" value={choice.order} of={sessionOrders} onChange={order => onChange({ order })} />
      {withStudies && (
        <label className="row">
          <input type="checkbox" checked={choice.byStudy} onChange={e => onChange({ byStudy: e.target.checked })} />
          by study
        </label>
      )}
    </search>
  );
}

function Choice<T extends string>(props: { label: string; value: T; of: readonly T[]; onChange: (value: T) => void }) {
  return (
    <label className="row">
      {props.label}
      <select value={props.value} onChange={e => props.onChange(e.target.value as T)}>
        {props.of.map(one => (
          <option key={one}>{one}</option>
        ))}
      </select>
    </label>
  );
}

/** What is known so far; read again whenever the list was, as a bundle may have brought another review. */
function useProgress(sessions: readonly CatalogueEntry[]): Known {
  const app = useApp();
  const rater = usePart(app.prefs, p => p.rater);
  const [known, setKnown] = useState<Known>(new Map());
  useEffect(() => {
    let gone = false;
    let end = () => {};
    const ids = sessions.map(s => s.id);
    const report = (error: Error) => app.ui.notify(error.message);
    import('../../state/sessions/progress').then(({ followProgress }) => {
      if (!gone) end = followProgress(app.library, ids, rater, setKnown, report);
    }, report);
    return () => {
      gone = true;
      end();
    };
  }, [app, sessions, rater]);
  return known;
}

function useStudies(sessions: readonly CatalogueEntry[]): readonly StudyTitle[] {
  const app = useApp();
  const [studies, setStudies] = useState<readonly StudyTitle[]>([]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: read again whenever the list of sessions was
  useEffect(() => {
    // Grouping is a convenience: where the studies cannot be read, the sessions are still there.
    import('../../state/study/studies')
      .then(({ listStudies }) => listStudies(app.library))
      .then(setStudies, () => undefined);
  }, [app, sessions]);
  return studies;
}
