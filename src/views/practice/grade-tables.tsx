import type { GradeSummary, KindCounts, PracticeKind } from '../../core/review/practice/practice';
import { pointsFor } from '../../core/review/practice/practice';
import { mistakeWords } from '../../state/practice/feedback';
import { TableHead } from '../controls/table-head';

/** The same counts by kind of mistake and by segment, and how they make the points. */
export function GradeTables({ summary }: { summary: GradeSummary }) {
  const { edgeOverlap } = summary;
  const kinds = Object.entries(summary.byKind) as [PracticeKind, KindCounts][];
  return (
    <section aria-label="Counts">
      <table className="grade" data-testid="by-kind">
        <caption>By kind</caption>
        <Head first="kind" />
        <tbody>
          {kinds.map(([kind, tally]) => (
            <Row key={kind} name={mistakeWords[kind]} tally={tally} />
          ))}
        </tbody>
      </table>
      <table className="grade" data-testid="by-segment">
        <caption>By segment</caption>
        <Head first="segment" alarms />
        <tbody>
          {summary.bySegment.map(s => (
            <Row key={s.segment} name={s.segment} tally={s} alarms={s.falseAlarms} />
          ))}
        </tbody>
      </table>
      {typeof edgeOverlap === 'number' && (
        <p data-testid="edges">
          Edges of the unreadable stretches: overlap of {Math.round(100 * edgeOverlap)} % on average.
        </p>
      )}
      <p className="soft small">
        {pointsFor.found} points a place found, {pointsFor.wronglyPlaced} wrongly placed
        {edgeOverlap !== undefined && ', for an unreadable stretch in proportion to its overlap'};{' '}
        {-pointsFor.falseAlarm} lost for a false alarm, {-pointsFor.hint} for a hint; never below 0. In a sampled lesson
        only the stretches you reviewed count, and {pointsFor.narrow} points are for an interval as narrow as wanted.
      </p>
    </section>
  );
}

function Head({ first, alarms }: { first: string; alarms?: boolean }) {
  return (
    <TableHead
      columns={[
        first,
        'found',
        'overlooked',
        { wrap: 'wrongly placed' },
        ...(alarms ? [{ wrap: 'false alarms' }] : []),
      ]}
    />
  );
}

function Row({ name, tally, alarms }: { name: string; tally: KindCounts; alarms?: number }) {
  return (
    <tr data-row={name}>
      <th scope="row" className="wrap">
        {name}
      </th>
      <td data-cell="found">
        {tally.found} of {tally.planted}
      </td>
      <td data-cell="overlooked">{tally.overlooked}</td>
      <td data-cell="wrongly placed">{tally.wronglyPlaced}</td>
      {alarms !== undefined && <td data-cell="false alarms">{alarms}</td>}
    </tr>
  );
}
