import { sampledWords } from '../../core/review/standing/sampled-words';
import { wholePercent } from '../../core/review/standing/standing-words';
import type { BoardRow } from '../../core/review/study/board';
import type { Study } from '../../core/review/study/study';
import { clock } from '../../state/clocks/text';
import { hashOfScreen } from '../../state/stores/ui-store';
import { TableHead } from '../controls/table-head';

const unique = (names: readonly string[]) => [...new Set(names)];

/** Volunteers by recorders: what is imported, looked at, finished, rated twice and settled. */
export function StudyBoard({ study, rows }: { study: Study; rows: readonly BoardRow[] }) {
  const volunteers = unique(rows.map(r => r.volunteer)).sort();
  const recorders = unique(rows.map(r => r.recorder));
  if (rows.length === 0) return <p>No session yet: import some below.</p>;
  return (
    <section aria-labelledby="board">
      <h2 id="board">Board</h2>
      <Totals rows={rows} expected={volunteers.length * recorders.length} />
      <div className="study-scroll">
        <table data-testid="study-board">
          <TableHead
            columns={[
              'volunteer',
              { left: 'recorder' },
              'length',
              'marks',
              'activities',
              'looked at',
              'signed off',
              { left: 'finished by' },
              'rated twice',
              'settled',
            ]}
          />
          <tbody>
            {volunteers.flatMap(volunteer =>
              recorders.flatMap((recorder, k) => {
                const found = rows.filter(r => r.volunteer === volunteer && r.recorder === recorder);
                if (found.length === 0)
                  return [<Missing key={`${volunteer}/${recorder}`} {...{ volunteer, recorder }} />];
                return found.map((row, i) => (
                  <Line
                    key={`${row.session}/${row.recording}`}
                    row={row}
                    first={k + i === 0}
                    template={study.segmentTemplate}
                  />
                ));
              }),
            )}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function Totals({ rows, expected }: { rows: readonly BoardRow[]; expected: number }) {
  const n = (holds: (row: BoardRow) => boolean) => rows.filter(holds).length;
  const finished = n(r => r.finishedBy.length > 0);
  const twice = n(r => r.finishers > 1);
  return (
    <p data-testid="study-totals">
      {rows.length} of {expected} recordings imported · {finished} reviewed{' '}
      <progress aria-label="reviewed" max={expected} value={finished} /> · {twice} rated twice · {n(r => r.settled)}{' '}
      settled
    </p>
  );
}

function Missing({ volunteer, recorder }: { volunteer: string; recorder: string }) {
  return (
    <tr>
      <th scope="row">{volunteer}</th>
      <td className="left">{recorder}</td>
      <td colSpan={8} className="left needs">
        not imported
      </td>
    </tr>
  );
}

function Line({ row, first, template }: { row: BoardRow; first: boolean; template: readonly string[] }) {
  const missing = template.filter(name => !row.activities.includes(name));
  return (
    <tr className={first ? 'study-first' : ''}>
      <th scope="row">
        <a
          href={hashOfScreen({ name: 'review', sessionId: row.session, recordingId: row.recording })}
          aria-label={`${row.volunteer}, ${row.recorder}`}
        >
          {row.volunteer}
        </a>
      </th>
      <td className="left">{row.recorder}</td>
      <td>{clock(row.seconds)}</td>
      <td>{row.detectedMarks}</td>
      <td
        className={missing.length > 0 ? 'needs' : ''}
        title={missing.length > 0 ? `without ${missing.join(', ')}` : undefined}
      >
        {row.activities.length}
        {missing.length > 0 ? `, ${missing.length} missing` : ''}
      </td>
      <td>
        <progress aria-label={`${row.volunteer}, ${row.recorder}: looked at`} max={1} value={row.coverageShare} />{' '}
        {wholePercent(row.coverageShare)}
        {row.sampled && <div className="soft small">{sampledWords(row.sampled)}</div>}
      </td>
      <td>
        {row.signedOffSegments} of {row.activities.length}
      </td>
      <td className="left">{row.finishedBy.join(', ') || (row.begunBy.length > 0 ? 'begun' : 'nobody')}</td>
      <td>
        {row.finishedBy.length > 1 ? (
          <a href={hashOfScreen({ name: 'compare', sessionId: row.session })}>
            {row.finishers > 1 ? 'yes: compare' : 'by one rater: compare'}
          </a>
        ) : (
          'no'
        )}
      </td>
      <td>{row.settled ? 'yes' : 'no'}</td>
    </tr>
  );
}
