import { useCallback, useEffect, useState } from 'react';
import type { Assignment } from '../../remote/records';
import { fetchAssigned } from '../../state/sharing/fetching';
import { remoteWords } from '../../state/sharing/lab-store';
import { hashOfScreen } from '../../state/stores/ui-store';
import { sessionsFetchedInPart } from '../../storage/fetched-parts';
import { useApp, usePart } from '../app-context';
import { sentWords } from '../controls/sent-words';
import { TableHead } from '../controls/table-head';

const placeWords: Record<Assignment['place'], string> = {
  first: 'review',
  second: 'review',
  settles: 'settle differences',
};

/** What the rater has to do, where each session is, and how its review stands in the store. */
export function Assigned() {
  const app = useApp();
  const assignments = usePart(app.labStore.store, s => s.assignments);
  const signedOff = usePart(app.labStore.store, s => s.signedOff);
  const sent = usePart(app.labStore.store, s => s.sent);
  const fetching = usePart(app.labStore.store, s => s.fetching);
  const [here, setHere] = useState<ReadonlySet<string> | null>(null);
  const [inPart, setInPart] = useState<ReadonlySet<string>>(new Set());
  const look = useCallback(() => {
    Promise.all([app.library.sessions(), sessionsFetchedInPart()]).then(
      ([all, partly]) => {
        setHere(new Set(all.map(s => s.id)));
        setInPart(partly);
      },
      (error: Error) => app.ui.notify(error.message),
    );
  }, [app]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: what is here changes with what is being fetched
  useEffect(look, [look, fetching]);
  const fetchOne = async (session: string) => {
    try {
      await fetchAssigned(app, app.labStore, session);
    } catch (error) {
      app.ui.notify(`${session} was not fetched: ${remoteWords(error)}.`);
    }
    look();
  };
  const refresh = (
    <p>
      <button
        type="button"
        onClick={() =>
          void app.labStore.refresh().catch((error: unknown) => app.ui.notify(`Not refreshed: ${remoteWords(error)}.`))
        }
      >
        Refresh
      </button>
    </p>
  );
  if (assignments.length === 0) {
    return (
      <>
        <p data-testid="assigned">Nothing is assigned to you in this study yet.</p>
        {refresh}
      </>
    );
  }
  // Of a session that is not here this browser has nothing to send, and does not know what was sent from elsewhere.
  const sentFrom = (session: string) => (here?.has(session) || sent[session] ? sentWords(sent[session]) : '');
  return (
    <section aria-labelledby="assigned">
      <h2 id="assigned">Assigned to you</h2>
      <table data-testid="assigned">
        <TableHead
          columns={['session', { left: 'task' }, 'due', { left: 'in this browser' }, { left: 'in the store' }]}
        />
        <tbody>
          {assignments.map(({ session, place, due }) => (
            <tr key={`${session}/${place}`}>
              <th scope="row">{session}</th>
              <td className="left">{placeWords[place]}</td>
              <td>{due ?? 'no date'}</td>
              <td className="left">
                {here?.has(session) && (
                  <a
                    href={hashOfScreen({ name: place === 'settles' ? 'compare' : 'review', sessionId: session })}
                    aria-label={`Open ${session}`}
                  >
                    Open
                  </a>
                )}{' '}
                {here?.has(session) && fetching.has(session) && 'signals are being fetched'}
                {here?.has(session) && inPart.has(session) && !fetching.has(session) && (
                  <button type="button" onClick={() => void fetchOne(session)}>
                    Continue fetching {session}
                  </button>
                )}
                {!here?.has(session) && (
                  <button
                    type="button"
                    disabled={here === null || fetching.has(session)}
                    onClick={() => void fetchOne(session)}
                  >
                    Fetch {session}
                  </button>
                )}
              </td>
              <td className="left" data-cell="sent">
                {[signedOff.has(session) ? 'signed off' : '', sentFrom(session)].filter(Boolean).join(' · ')}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {refresh}
      <p className="soft">
        A session can be opened as soon as its first parts are here; once all of it is fetched you can work without a
        network. Your review is saved in this browser first; it is sent whenever the store can be reached. Finishing a
        review signs it off in the store for good, and opens the other rater’s review to you.
      </p>
    </section>
  );
}
