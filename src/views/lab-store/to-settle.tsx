import type { BoardLine } from '../../state/sharing/board-line';
import { hashOfScreen } from '../../state/stores/ui-store';
import { TableHead } from '../controls/table-head';

/** Sessions that two people have signed off and differ in; whose the reviews are is not shown. */
export function ToSettle({ lines }: { lines: readonly BoardLine[] }) {
  const open = sessionsToSettle(lines);
  if (open.length === 0) return null;
  const all = open.reduce((n, s) => n + s.differences, 0);
  return (
    <section aria-labelledby="to-settle">
      <h2 id="to-settle">Differences to settle</h2>
      <p>
        {all} in {open.length === 1 ? '1 session' : `${open.length} sessions`}, those with most first. Import the
        signed-off reviews before you open one.
      </p>
      <table data-testid="to-settle">
        <TableHead columns={['session', 'differences', { left: 'settling' }]} />
        <tbody>
          {open.map(({ session, title, differences, settling }) => (
            <tr key={session}>
              <th scope="row">
                <a href={hashOfScreen({ name: 'compare', sessionId: session })}>{title}</a>
              </th>
              <td>{differences}</td>
              <td className="left">{settling}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

interface OpenSession {
  readonly session: string;
  readonly title: string;
  readonly differences: number;
  readonly settling: 'nobody assigned' | 'assigned' | 'under way';
}

/** Calibration sessions are not settled: they are there to be compared. */
function sessionsToSettle(lines: readonly BoardLine[]): readonly OpenSession[] {
  const found = new Map<string, OpenSession>();
  for (const { session, title, agreement, calibration, repeats } of lines) {
    if (!agreement || agreement.disagreements === 0 || calibration || repeats !== null) continue;
    const settlers = lines.filter(l => l.session === session && l.place === 'settles');
    if (settlers.some(l => l.signedOffAt !== null)) continue;
    const begun = settlers.some(l => l.branches.length > 0);
    const settling = begun ? 'under way' : settlers.length > 0 ? 'assigned' : 'nobody assigned';
    found.set(session, { session, title, differences: agreement.disagreements, settling });
  }
  return [...found.values()].sort((a, b) => b.differences - a.differences || (a.title < b.title ? -1 : 1));
}
