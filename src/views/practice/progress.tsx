import { useState } from 'react';
import type { PracticeKind } from '../../core/review/practice/practice';
import { foundByKind, type ProgressEntry, progressLine } from '../../core/review/standing/progress';
import { mistakeWords } from '../../state/practice/feedback';
import { lessonTitle } from '../../state/practice/progress';
import { reasonTitle } from '../controls/format';
import { ProgressChart } from './progress-chart';

/** How the lessons went so far, as a chart and by kind of mistake. */
export function Progress({ done }: { done: readonly ProgressEntry[] }) {
  const [lesson, setLesson] = useState<string | null>(null);
  const ids = [...new Set(done.map(e => e.lesson))];
  const shown = lesson !== null && ids.includes(lesson) ? lesson : null;
  return (
    <section aria-labelledby="progress" data-testid="progress">
      <h2 id="progress">Your progress</h2>
      {done.length === 0 ? (
        <p className="soft">After your first lesson its result appears here, kept in this browser only.</p>
      ) : (
        <div className="progress-parts">
          <div>
            <label className="row">
              lesson
              <select value={shown ?? ''} onChange={e => setLesson(e.target.value || null)}>
                <option value="">all</option>
                {ids.map(id => (
                  <option key={id} value={id}>
                    {lessonTitle(id)}
                  </option>
                ))}
              </select>
            </label>
            <ProgressChart points={progressLine(done, shown)} />
          </div>
          <FoundTable done={done} />
        </div>
      )}
    </section>
  );
}

function FoundTable({ done }: { done: readonly ProgressEntry[] }) {
  const found = Object.entries(foundByKind(done)) as [PracticeKind, ReturnType<typeof foundByKind>[PracticeKind]][];
  return (
    <table data-testid="found-by-kind">
      <caption>Found in the last ten lessons</caption>
      <tbody>
        {found.map(([kind, share]) => (
          <tr key={kind}>
            <th scope="row">{mistakeWords[kind]}</th>
            <td className={share.value === null ? 'soft' : ''}>
              {share.value === null
                ? reasonTitle(share)
                : `${Math.round(share.value * 100)} % (${Math.round(share.value * share.n)} of ${share.n})`}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
