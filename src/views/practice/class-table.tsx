import { useMemo, useState } from 'react';
import { type ClassPlan, judgedByPlan, percentOf } from '../../core/review/practice/class-plan';
import { type Attempt, type ClassRow, classRows, type HandedIn } from '../../core/review/practice/class-table';
import { clock } from '../../state/clocks/text';
import { download } from '../../state/export/exporting';
import { classCsv, hardest, lessonWords } from '../../state/practice/class-files';
import { mistakeWords } from '../../state/practice/feedback';
import { TableHead } from '../controls/table-head';

/** Value of a row by which a column sorts. */
const columns = {
  learner: (r: ClassRow) => r.learner,
  lesson: (r: ClassRow) => lessonWords(r.lesson),
  attempts: (r: ClassRow) => r.attempts,
  'first attempt': (r: ClassRow) => percentOf(r.first),
  'best attempt': (r: ClassRow) => percentOf(r.best),
  edges: (r: ClassRow) => r.best.edgeOverlap ?? -1,
  hints: (r: ClassRow) => r.best.hints,
  time: (r: ClassRow) => r.best.seconds ?? 0,
} as const;
type Column = keyof typeof columns;

/** Everything that was handed in, a row for each learner and lesson, sorted by the column that was pressed. */
export function ClassTable({ handedIn, plan }: { handedIn: readonly HandedIn[]; plan: ClassPlan | null }) {
  const rows = useMemo(() => classRows(handedIn), [handedIn]);
  const [order, setOrder] = useState<{ by: Column; down: boolean }>({ by: 'learner', down: false });
  const sorted = [...rows].sort((a, b) => {
    const [one, other] = [columns[order.by](a), columns[order.by](b)];
    return (one < other ? -1 : one > other ? 1 : 0) * (order.down ? -1 : 1);
  });
  return (
    <>
      <h3>The class</h3>
      <table data-testid="class-table">
        <thead>
          <tr>
            {(Object.keys(columns) as Column[]).map(by => (
              <th
                key={by}
                scope="col"
                className={by === 'learner' || by === 'lesson' ? 'left' : ''}
                aria-sort={order.by !== by ? 'none' : order.down ? 'descending' : 'ascending'}
              >
                <button
                  type="button"
                  className="count"
                  onClick={() => setOrder({ by, down: order.by === by && !order.down })}
                >
                  {by}
                </button>
              </th>
            ))}
            <th scope="col" className="left">
              remarks
            </th>
          </tr>
        </thead>
        <tbody>
          {sorted.map(row => (
            <Row key={`${row.learner} ${lessonWords(row.lesson)}`} row={row} plan={plan} />
          ))}
        </tbody>
      </table>
      <p className="row">
        <button type="button" onClick={() => download([classCsv(rows, plan)])}>
          Save the class as CSV
        </button>
      </p>
      <HardestPlaces handedIn={handedIn} />
    </>
  );
}

function Row({ row, plan }: { row: ClassRow; plan: ClassPlan | null }) {
  return (
    <tr>
      <th scope="row">{row.learner}</th>
      <td className="left wrap">{lessonWords(row.lesson)}</td>
      <td>{row.attempts}</td>
      <td title={row.first.at}>{pointsWords(row.first)}</td>
      <td title={row.best.at}>{pointsWords(row.best)}</td>
      <td>{edgeWords(row.best)}</td>
      <td>{row.best.hints}</td>
      <td>{row.best.seconds === null ? 'not known' : clock(row.best.seconds)}</td>
      <td className="left wrap">{remarks(row, plan).join('; ')}</td>
    </tr>
  );
}

const edgeWords = ({ edgeOverlap }: Attempt) => (edgeOverlap === null ? '–' : `${Math.round(100 * edgeOverlap)} %`);

const pointsWords = (a: Attempt) => `${a.points} of ${a.maxPoints}`;

function remarks(row: ClassRow, plan: ClassPlan | null): string[] {
  const out: string[] = [];
  const judged = plan && judgedByPlan(plan, row);
  if (plan && !judged) out.push('not a lesson of the class file');
  if (judged) out.push(judged.passed ? 'passed' : 'not passed');
  if (judged?.late) out.push('after the deadline');
  if (judged?.tooMany) out.push('more attempts than allowed');
  if (row.best.halfWasEnough || row.first.halfWasEnough)
    out.push('graded when half of an unreadable stretch was enough');
  if (row.repeated > 0) out.push(`same attempt handed in ${row.repeated + 1} times`);
  if (row.sameActsAs.length > 0) out.push(`same acts at the same times as ${row.sameActsAs.join(', ')}`);
  return out;
}

const placesShown = 10;

function HardestPlaces({ handedIn }: { handedIn: readonly HandedIn[] }) {
  const places = useMemo(() => hardest(handedIn).filter(p => p.found < p.learners), [handedIn]);
  if (places.length === 0) return null;
  return (
    <>
      <h3>The hardest places</h3>
      <table data-testid="hardest-places">
        <TableHead columns={['place', { left: 'lesson' }, { left: 'mistake' }, 'found at the first attempt']} />
        <tbody>
          {places.slice(0, placesShown).map(p => (
            <tr key={`${lessonWords(p.lesson)} ${p.kind} ${p.seconds}`}>
              <th scope="row">{clock(p.seconds)}</th>
              <td className="left wrap">{lessonWords(p.lesson)}</td>
              <td className="left">{mistakeWords[p.kind]}</td>
              <td>
                {p.found} of {p.learners}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
