import { memo, useState } from 'react';
import { showOccurrences } from '../../commands/navigate';
import type { RecordingReview } from '../../core/marks/edit';
import { covers } from '../../core/marks/spans';
import { evidenceIn } from '../../core/review/places/evidence';
import type { ReviewedScore, ReviewedSegment, Standing } from '../../core/review/standing/reviewed-score';
import { lookedAtNote, standingWords, wholePercent } from '../../core/review/standing/standing-words';
import { measures, qualityOf } from '../../core/score/measures';
import { percentLimits, percentText } from '../../core/score/percent-text';
import { type CountKind, placesOf } from '../../state/review/occurrences';
import { reviewOf } from '../../state/review/review-store';
import { ownReviewedScore } from '../../state/review/scores';
import { itemOf } from '../../state/review/workspace';
import { useApp, usePart, useWorkspace } from '../app-context';
import { percent, reasonTitle } from '../controls/format';
import { TableHead } from '../controls/table-head';

/** The ledger: what every segment of a recorder comes to, following each edit. */
export function SegmentTable({ recordingId }: { recordingId: string }) {
  const workspace = useWorkspace();
  usePart(workspace.review.store, s => s.replayed);
  usePart(workspace.review.store, s => s.session);
  const caret = usePart(workspace.view, v => v.caret);
  const item = itemOf(workspace, recordingId);
  const review = reviewOf(workspace.review.get(), recordingId);
  const score = ownReviewedScore(workspace.scoreOf(recordingId), item, workspace.review.get().replayed);
  const rows = score.segments;
  const common = { recordingId, review };
  return (
    <section aria-label={`Ledger, ${item.recording.recorder}`}>
      <h2>{item.recording.recorder}</h2>
      <table className="ledger" data-testid={`ledger-${recordingId}`}>
        <TableHead columns={['segment', 'missed', 'wrong peak', 'extra', 'lost', 'right intervals']} />
        <tbody>
          {rows.map(row => (
            <Row key={row.segment.name} {...common} {...{ score, row }} isTotal={false} current={holds(row, caret)} />
          ))}
        </tbody>
        {rows.length > 1 && (
          <tfoot>
            <Row {...common} score={score} row={score.total} isTotal current={false} />
          </tfoot>
        )}
      </table>
      <Details recordingId={recordingId} review={review} row={rows.find(r => holds(r, caret)) ?? score.total} />
    </section>
  );
}

function holds(row: ReviewedSegment, sample: number): boolean {
  return sample >= row.segment.start && sample < row.segment.end;
}

interface RowProps {
  readonly recordingId: string;
  readonly review: RecordingReview;
  readonly score: ReviewedScore;
  readonly row: ReviewedSegment;
  readonly isTotal: boolean;
  readonly current: boolean;
}

/** Remembered, so that a step of the caret computes no row again. */
const Row = memo(function Row({ recordingId, review, score, row, isTotal, current }: RowProps) {
  const { standing, withheld } = row;
  const signed = !isTotal && review.signOffs.some(s => s.segment === row.segment.name);
  const { quality, qualityInterval95: interval } = qualityOf(row);
  return (
    <tr className={current ? 'current' : ''} data-segment={row.segment.name}>
      <th scope="row" className="wrap">
        {row.segment.name}
        <div className="soft small" data-cell="coverage">
          {coverageWords(signed, standing)}
        </div>
      </th>
      <Count row={row} score={score} recordingId={recordingId} kind="missed" value={row.counts.missed} />
      <Count row={row} score={score} recordingId={recordingId} kind="wrong peak" value={row.counts.wrongPeak} />
      <Count row={row} score={score} recordingId={recordingId} kind="extra" value={row.counts.extra} />
      <Count row={row} score={score} recordingId={recordingId} kind="lost" value={row.counts.lost} />
      <td title={reasonTitle(quality)} data-cell="quality">
        {quality.value === null ? (
          <span className="soft small breaks">{withheld === undefined ? 'not computable' : '–'}</span>
        ) : (
          <>
            <Share value={quality.value} standing={standing} />
            {standing.status !== 'sampled' && (
              <div className="soft small">
                {row.counts.right} of {quality.n}
              </div>
            )}
          </>
        )}
        {interval && (
          <div className="soft small" title="95 % interval, in percent">
            {percentLimits(interval, 1).join(' to ')}
          </div>
        )}
      </td>
    </tr>
  );
});

function coverageWords(signed: boolean, standing: Standing): string {
  if (!signed) return lookedAtNote(standing);
  if (standing.status === 'sampled') return `signed off, ${standingWords(standing)}`;
  const { lookedAtShare: share } = standing;
  return share !== null && share < 1 ? `signed off, ${wholePercent(share)} looked at` : 'signed off';
}

/** Bold once it is final: a number of a part must not look like the result. */
export function Share({ value, standing }: { value: number; standing: Standing }) {
  const words = `${percentText(value, 1)} %`;
  if (standing.status === 'final') return <strong>{words}</strong>;
  return (
    <span className="soft" title={`Not final: ${standingWords(standing)}.`}>
      {words}
    </span>
  );
}

interface CountProps {
  readonly score: ReviewedScore;
  readonly row: ReviewedSegment;
  readonly recordingId: string;
  readonly kind: CountKind;
  readonly value: number | null;
}

function Count({ score, row, kind, value, recordingId }: CountProps) {
  const app = useApp();
  const workspace = useWorkspace();
  if (row.withheld !== undefined) {
    return (
      <td title={row.withheld} data-cell={kind}>
        –
      </td>
    );
  }
  if (value === null) return <td title="no readable beat">–</td>;
  if (value === 0) return <td data-cell={kind}>0</td>;
  const show = () => {
    const all = placesOf(score, kind, row.segment.start, row.segment.end);
    const places = all.filter(p => covers(row.counted, p));
    showOccurrences(workspace, app, { title: `${kind}, ${row.segment.name}`, recordingId, places });
  };
  return (
    <td data-cell={kind}>
      <button
        type="button"
        className="count"
        onClick={show}
        aria-label={`${value} ${kind}, ${row.segment.name}: show one by one`}
      >
        {value}
      </button>
    </td>
  );
}

interface DetailsProps {
  readonly row: ReviewedSegment;
  readonly recordingId: string;
  readonly review: RecordingReview;
}

/** What stands behind the segment the caret is in. */
const Details = memo(function Details({ row, recordingId, review }: DetailsProps) {
  const [open, setOpen] = useState(false);
  return (
    <details className="small" data-testid={`details-${recordingId}`} onToggle={e => setOpen(e.currentTarget.open)}>
      <summary>More about {row.segment.name}</summary>
      {open && <DetailLines row={row} review={review} />}
    </details>
  );
});

function DetailLines({ row, review }: Omit<DetailsProps, 'recordingId'>) {
  if (row.withheld !== undefined) return <p className="soft">{row.withheld}</p>;
  const m = measures(row);
  const c = row.counts;
  const { qualityInterval95: interval } = qualityOf(row);
  const fraction = (value: number | null, places = 4) => (value === null ? 'not computable' : value.toFixed(places));
  return (
    <table>
      <tbody>
        {interval && (
          <Line name="right intervals, 95 % interval" value={`${percentLimits(interval, 1).join(' to ')} %`} />
        )}
        <Line name="other trace used as evidence" value={places(evidenceIn(review, row.segment))} />
        <Line
          name="readable part only"
          value={percent(m.readableQuality, c.right)}
          why={reasonTitle(m.readableQuality)}
        />
        <Line
          name="recorder's own intervals right"
          value={percent(m.ownQuality, c.ownRight)}
          why={reasonTitle(m.ownQuality)}
        />
        <Line name="sensitivity" value={`${fraction(m.sensitivity.value)} (${c.onPeak} of ${c.beats})`} />
        <Line name="positive predictive value" value={`${fraction(m.ppv.value)} (${c.onPeak} of ${c.marks})`} />
        <Line name="F1" value={fraction(m.f1.value)} why={reasonTitle(m.f1)} />
        <Line name="marks centred (refined)" value={String(c.refined)} />
        <Line name="unreadable" value={`${c.unreadableSeconds.toFixed(1)} s, ${c.lostUnreadable ?? '–'} intervals`} />
        <Line name="no signal" value={`${c.noSignalSeconds.toFixed(1)} s, ${c.lostNoSignal ?? '–'} intervals`} />
        <Line
          name="interval error, mean"
          value={`${fraction(m.meanErrorMs.value, 2)} ms`}
          why={reasonTitle(m.meanErrorMs)}
        />
        <Line name="interval error, SD" value={`${fraction(m.sdErrorMs.value, 2)} ms`} why={reasonTitle(m.sdErrorMs)} />
        <Line
          name="95 % of errors within"
          value={`${fraction(m.p95AbsErrorMs.value, 1)} ms`}
          why={reasonTitle(m.p95AbsErrorMs)}
        />
      </tbody>
    </table>
  );
}

const places = (n: number) => `at ${n} ${n === 1 ? 'place' : 'places'}`;

function Line({ name, value, why }: { name: string; value: string; why?: string | undefined }) {
  return (
    <tr>
      <th scope="row">{name}</th>
      <td className="wrap">{why ? `not computable: ${why}` : value}</td>
    </tr>
  );
}
