import { type DriftWeek, driftByWeek, type SignedReview } from '../../core/review/raters/drift';
import type { Computed } from '../../core/score/result';
import type { BoardLine } from '../../state/sharing/board-line';
import { TableHead } from '../controls/table-head';

/** How each rater's reviews change over the weeks, against the other rater of the same sessions. */
export function Drift({ lines }: { lines: readonly BoardLine[] }) {
  const weeks = driftByWeek(lines.flatMap(line => signedReview(line) ?? []));
  if (weeks.length === 0) return null;
  return (
    <section aria-labelledby="store-drift">
      <h2 id="store-drift">Raters by week</h2>
      <div className="lab-store-scroll">
        <table data-testid="store-drift">
          <TableHead
            columns={[
              'rater',
              { left: 'week' },
              { left: 'sessions' },
              'quality, difference in % points',
              'F1 with other rater',
              'kappa',
              'minutes for an hour of recording',
            ]}
          />
          <tbody>
            {weeks.map(week => (
              <Week key={`${week.rater} ${week.week} ${week.calibration} ${week.repeated}`} week={week} />
            ))}
          </tbody>
        </table>
      </div>
      <p className="soft">
        By the week of signing off, of what was signed off. The difference in quality is this rater’s minus the other’s,
        a mean over sessions, as kappa is; F1 and minutes are of all sessions of the week together. In a calibration
        session everybody is compared with the reference rater; in a repeated one each with their own first review. Few
        sessions a week vary by chance: look for what lasts.
      </p>
    </section>
  );
}

function Week({ week }: { week: DriftWeek }) {
  const { sessions, calibration, repeated } = week;
  return (
    <tr data-week={`${week.rater} ${week.week}`}>
      <th scope="row">{week.rater}</th>
      <td className="left">{week.week}</td>
      <td className="left">
        {sessions}
        {calibration && ' for calibration'}
        {repeated && ' repeated, compared with their own first review'}
      </td>
      <Figure of={week.qualityDifference} digits={1} signed />
      <Figure of={week.f1} digits={3} />
      <Figure of={week.kappa} digits={2} />
      <Figure of={week.pace} digits={0} />
    </tr>
  );
}

function Figure({ of, digits, signed = false }: { of: Computed; digits: number; signed?: boolean }) {
  if (of.value === null) {
    return (
      <td className="soft wrap" title={of.reason}>
        not computable: {of.reason}
      </td>
    );
  }
  const text = of.value.toFixed(digits);
  return <td>{signed && of.value > 0 && Number(text) !== 0 ? `+${text}` : text}</td>;
}

/** Null for what is no blind rating: under way, signed off empty, forked, or a settlement. */
function signedReview(line: BoardLine): SignedReview | null {
  const { rater, signedOffAt, signedOffEntries, branches, place, calibration, repeats, progress, agreement } = line;
  if (signedOffAt === null || signedOffEntries === 0 || branches.length !== 1 || place === 'settles') return null;
  return { rater, signedOffAt, calibration, repeated: repeats !== null, work: progress, agreement };
}
