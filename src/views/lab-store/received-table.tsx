import { useCallback, useEffect, useState } from 'react';
import { canonicalJson } from '../../core/marks/log';
import { keepAllOfReturn } from '../../core/review/privacy/leaving-handover';
import { errorMessage } from '../../state/error-message';
import { download } from '../../state/export/exporting';
import { passphraseProblem } from '../../state/export/locking';
import type { ReceivedAssignment } from '../../state/handover/records';
import { type AssignedReview, assignedReviews, returnFile } from '../../state/handover/returning';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp } from '../app-context';
import { ReturnFields } from '../controls/leaving-fields';
import { NewPassphraseFields, noPassphrase } from '../controls/new-passphrase';
import { TableHead } from '../controls/table-head';

/** What a rater has received as a file, how far it is, and the way back. */
export function ReceivedTable({ assignment, onReturned }: { assignment: ReceivedAssignment; onReturned: () => void }) {
  const app = useApp();
  const { returnedAs } = assignment;
  const [handling, setHandling] = useState(returnedAs ?? keepAllOfReturn);
  const [reviews, setReviews] = useState<readonly AssignedReview[]>([]);
  const [lock, setLock] = useState(noPassphrase);
  const wrongLock = passphraseProblem(lock.passphrase, lock.again) !== null;
  const look = useCallback(() => {
    assignedReviews(app, assignment).then(setReviews, (error: Error) => app.ui.notify(error.message));
  }, [app, assignment]);
  useEffect(look, [look]);
  const finished = reviews.filter(r => r.state === 'finished').length;
  const giveBack = async () => {
    look();
    try {
      const file = await returnFile(app, assignment, handling, lock.passphrase);
      download([file]);
      onReturned();
      app.ui.notify(`${file.name} was made. Send it to whoever handed out the sessions.`, 'done');
    } catch (error) {
      app.ui.notify(`No return was made: ${errorMessage(error)}`);
    }
  };
  // Several people may review in this browser: an assigned session is reviewed under the code it was assigned to.
  const becomeRater = () => {
    if (app.prefs.getState().rater !== assignment.rater) app.prefs.change({ rater: assignment.rater });
  };
  return (
    <>
      <h3>
        Assigned to {assignment.rater}: {assignment.title}
      </h3>
      <p className="soft">due {assignment.due ?? 'without a date'}</p>
      <table data-testid="received">
        <TableHead columns={['session', { left: 'your review' }]} />
        <tbody>
          {reviews.map(({ id, title, state }) => (
            <tr key={id}>
              <th scope="row">
                {state === 'removed' ? (
                  title
                ) : (
                  <a href={hashOfScreen({ name: 'review', sessionId: id })} onClick={becomeRater}>
                    {title}
                  </a>
                )}
              </th>
              <td className="left" data-review={id}>
                {state === 'removed' ? 'removed from this browser: open the assignment again' : state}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <div className="lab-store-form">
        <ReturnFields value={handling} onChange={setHandling} />
        <p className="small soft">
          Your code, ids and names are returned as they were handed out. Shifted dates keep their time of day. Without
          dates, only the time between your entries is kept.
        </p>
        {returnedAs && !sameJson(returnedAs, handling) && (
          <p className="small needs" role="status">
            The last return left out something else. If it was already imported, this one will be refused.
          </p>
        )}
        <NewPassphraseFields label="passphrase of the return, empty for an open file" value={lock} onChange={setLock} />
        <button type="button" disabled={wrongLock} onClick={() => void giveBack()}>
          Make the return file
        </button>
      </div>
      {finished < reviews.length && (
        <p className="soft">
          {finished} of {reviews.length} finished. What is under way can be returned as well, and again when it is
          finished.
        </p>
      )}
    </>
  );
}

const sameJson = (a: unknown, b: unknown) => canonicalJson(a) === canonicalJson(b);
