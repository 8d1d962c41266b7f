import { useCallback, useEffect, useState } from 'react';
import { errorMessage } from '../../state/error-message';
import { download } from '../../state/export/exporting';
import { passphraseProblem } from '../../state/export/locking';
import type { ReceivedAssignment } from '../../state/handover/records';
import { type AssignedReview, assignedReviews, returnFile } from '../../state/handover/returning';
import { hashOfScreen } from '../../state/stores/ui-store';
import { useApp } from '../app-context';
import { NewPassphraseFields, noPassphrase } from '../controls/new-passphrase';
import { TableHead } from '../controls/table-head';

/** What a rater has received as a file, how far it is, and the way back. */
export function ReceivedTable({ assignment }: { assignment: ReceivedAssignment }) {
  const app = useApp();
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
      const file = await returnFile(app, assignment, lock.passphrase);
      download([file]);
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
