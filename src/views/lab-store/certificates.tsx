import { useCallback, useEffect, useState } from 'react';
import { errorMessage } from '../../state/error-message';
import { takeCertificate } from '../../state/practice/certificates';
import { type Certificate, certificates } from '../../state/practice/certificates-kept';
import { lessonTitle } from '../../state/practice/progress';
import { useApp } from '../app-context';
import { ChooseFiles } from '../controls/choose-files';
import { TableHead } from '../controls/table-head';

/** What raters have practised, from the results files that they hand in. */
export function Certificates() {
  const app = useApp();
  const [taken, setTaken] = useState<readonly Certificate[]>([]);
  const look = useCallback(() => {
    certificates(app.library).then(setTaken, (error: Error) => app.ui.notify(error.message));
  }, [app]);
  useEffect(look, [look]);
  const take = async (files: readonly File[]) => {
    for (const file of files) {
      try {
        await takeCertificate(app.library, file.name, await file.text());
      } catch (error) {
        app.ui.notify(errorMessage(error));
      }
    }
    look();
  };
  return (
    <section aria-labelledby="certificates">
      <h2 id="certificates">Certificates of practice</h2>
      <p>
        A rater practises, downloads the results of a lesson and hands them in. Each is graded again here from its log.
      </p>
      <ChooseFiles
        title="Take in results of practice"
        testId="certificate-input"
        onChoose={files => void take(files)}
      />
      {taken.length > 0 && (
        <table data-testid="certificates">
          <TableHead columns={['rater', { left: 'lesson' }, 'difficulty', 'points', 'false alarms', 'finished']} />
          <tbody>
            {taken.map(({ rater, lesson, difficulty, points, maxPoints, falseAlarms, at }) => (
              <tr key={`${rater} ${lesson} ${at}`}>
                <th scope="row">{rater}</th>
                <td className="left">{lessonTitle(lesson)}</td>
                <td>{difficulty} of 5</td>
                <td>
                  {points} of {maxPoints}
                </td>
                <td>{falseAlarms}</td>
                <td>{new Date(at).toLocaleString()}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}
