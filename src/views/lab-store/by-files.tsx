import { useCallback, useEffect, useState } from 'react';
import { download } from '../../state/export/exporting';
import { type Batch, batches, type ReceivedAssignment, receivedAssignments } from '../../state/handover/records';
import { useApp } from '../app-context';
import { ChooseFiles } from '../controls/choose-files';
import { TableHead } from '../controls/table-head';
import { HandOutForm } from './hand-out-form';
import { ReceivedTable } from './received-table';

interface Kept {
  readonly batches: readonly Batch[];
  readonly received: readonly ReceivedAssignment[];
}

/** The same without a server: assignments go out as files, one a rater, and one file comes back from each. */
export function ByFiles() {
  const app = useApp();
  const [kept, setKept] = useState<Kept | null>(null);
  const look = useCallback(async () => {
    try {
      const { library } = app;
      setKept({
        batches: await (await batches(library)).list(),
        received: await (await receivedAssignments(library)).list(),
      });
    } catch (error) {
      app.ui.notify((error as Error).message);
    }
  }, [app]);
  useEffect(() => void look(), [look]);
  return (
    <section aria-labelledby="by-files">
      <h2 id="by-files">Without a server: by files</h2>
      <p>
        Whoever leads the study hands out one assignment file for each rater. A rater opens it here, reviews, and
        returns one file. Neither holds anybody else’s review.
      </p>
      <ChooseFiles
        title="Open an assignment or a return"
        testId="handover-input"
        onChoose={files => void app.importFiles(files).then(look)}
      />
      {kept?.received.map(r => (
        <ReceivedTable key={`${r.batch}/${r.rater}`} assignment={r} onReturned={() => void look()} />
      ))}
      {kept?.batches.map(b => (
        <BatchTable key={b.id} batch={b} />
      ))}
      <details>
        <summary>Hand out sessions</summary>
        <HandOutForm
          onHandedOut={files => {
            download(files);
            void look();
          }}
        />
      </details>
    </section>
  );
}

const lastReturn = (at: string) => (at === '' ? 'date left out' : new Date(at).toLocaleString());

function BatchTable({ batch }: { batch: Batch }) {
  const { people, title, assignedAt, due, seed, doubleShare, handedAs } = batch;
  return (
    <>
      <h3>Handed out: {title}</h3>
      <p className="soft">
        {new Date(assignedAt).toLocaleString()}; due {due ?? 'without a date'}; {Math.round(100 * doubleShare)} % rated
        twice, seed {seed}
        {handedAs && '; without some of what identifies people'}
      </p>
      <table data-testid="batch">
        <TableHead columns={['rater', 'sessions', 'returned', 'finished', 'last return']} />
        <tbody>
          {people.map(({ rater, sessions, returned }) => (
            <tr key={rater} data-rater={rater}>
              <th scope="row">{rater}</th>
              <td>{sessions.length}</td>
              <td>{returned ? returned.reviews : 'nothing yet'}</td>
              <td>{returned?.finished ?? ''}</td>
              <td>{returned ? lastReturn(returned.at) : ''}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
