import type { Kappa } from '../../core/agreement/kappa';
import { union } from '../../core/marks/spans';
import { raterLabel } from '../../core/review/raters/blind';
import { type Comparison, type SegmentComparison, verdictCategories } from '../../core/review/raters/compare';
import { unsettled } from '../../core/review/raters/settle';
import { type ReviewedScore, type ReviewedSegment, reviewedScore } from '../../core/review/standing/reviewed-score';
import { sampledQualityWords } from '../../core/review/standing/sampled-words';
import { standingWords } from '../../core/review/standing/standing-words';
import { qualityOf } from '../../core/score/measures';
import type { Computed } from '../../core/score/result';
import type { ComparisonWorkspace } from '../../state/compare/comparing';
import { usePart } from '../app-context';
import { percent, reasonTitle } from '../controls/format';
import { TableHead } from '../controls/table-head';
import { useComparison } from './use-comparison';

/** Agreement of two raters per segment and overall, with the quality each of them finds. */
export function CompareTable() {
  const workspace = useComparison();
  const { comparing } = workspace;
  usePart(workspace.review.store, s => s.replayed);
  usePart(comparing.store, s => s.pair);
  const recordingId = usePart(workspace.view, v => v.recordingId);
  const comparison = comparing.comparisonOf(recordingId);
  const logs = comparing.logs();
  if (!comparison || !logs) return null;
  const { item } = comparison.pair;
  const settled = comparing.settling() ? settledScore(workspace, comparison) : null;
  const supervisor = workspace.review.get().log.header.rater;
  const [a, b] = [raterLabel(logs.a), raterLabel(logs.b)];
  const rows = comparison.segments.map((row, i) => ({
    row,
    byA: comparison.scoreA.segments[i]!,
    byB: comparison.scoreB.segments[i]!,
    settled: settled?.segments[i],
  }));
  const total = {
    row: comparison.total,
    byA: comparison.scoreA.total,
    byB: comparison.scoreB.total,
    settled: settled?.total,
  };
  return (
    <section aria-label={`Agreement, ${item.recording.recorder}`}>
      <h2>
        {item.recording.recorder}: {a} and {b}
      </h2>
      <table className="agreement" data-testid={`agreement-${recordingId}`}>
        <TableHead
          columns={[
            'segment',
            'agreed',
            `only A, ${a}`,
            `only B, ${b}`,
            'different positions',
            'F1',
            `quality by ${a}`,
            `quality by ${b}`,
            'difference, points',
            ...(settled ? [`quality as adjudicated by ${supervisor}`] : []),
            'kappa (95 %)',
            'overlap of unreadable',
          ]}
        />
        <tbody>
          {rows.map(r => (
            <Row key={r.row.segment.name} {...r} name={r.row.segment.name} />
          ))}
        </tbody>
        {rows.length > 1 && (
          <tfoot>
            <Row {...total} name="all segments" />
          </tfoot>
        )}
      </table>
      <VerdictTables
        segments={rows.length > 1 ? [...comparison.segments, comparison.total] : comparison.segments}
        a={a}
        b={b}
      />
      <p className="soft small">
        F1 = 2 × agreed / (beats of A + beats of B). Kappa: Cohen 1960, unweighted, on the verdict of each detected
        mark; interval by Fleiss, Cohen and Everitt 1969. Overlap: Jaccard index of the unreadable spans, by time.
      </p>
    </section>
  );
}

interface RowProps {
  readonly name: string;
  readonly row: SegmentComparison;
  readonly byA: ReviewedSegment;
  readonly byB: ReviewedSegment;
  readonly settled: ReviewedSegment | undefined;
}

/** What is settled so far; differences that wait are in no number. */
function settledScore(workspace: ComparisonWorkspace, comparison: Comparison): ReviewedScore {
  const { item, a, b } = comparison.pair;
  const { id } = item.recording;
  const lookers = [a, b].map(review => ({ rater: '', recordings: new Map([[id, review]]) }));
  const { replayed } = workspace.review.get();
  const waiting = unsettled(comparison, replayed.recordings.get(id)!);
  const open = replayed.finished
    ? []
    : union(
        [],
        waiting.flatMap(d => d.territory),
      );
  return reviewedScore(workspace.scoreOf(id), item, { lookers, finished: replayed.finished, open });
}

function Row({ name, row, byA, byB, settled }: RowProps) {
  const quality = settled && qualityOf(settled).quality;
  return (
    <tr data-segment={name}>
      <th scope="row" className="wrap">
        {name}
        {row.overSeconds !== null && (
          <div className="soft small" data-cell="over">
            over the {row.overSeconds.toFixed(0)} s that both have looked at
          </div>
        )}
      </th>
      <td data-cell="agreed">{row.agreed}</td>
      <td data-cell="only A">{row.onlyA}</td>
      <td data-cell="only B">{row.onlyB}</td>
      <td data-cell="placed apart">{row.placedApart}</td>
      <Figure name="F1" result={row.f1} words={v => v.toFixed(4)} />
      <Figure name="quality A" result={row.qualityA} words={() => qualityWords(byA, row.qualityA)} />
      <Figure name="quality B" result={row.qualityB} words={() => qualityWords(byB, row.qualityB)} />
      <Figure name="difference" result={row.qualityDifference} words={signed} />
      {settled && quality && (
        <Figure name="adjudicated" result={quality} words={() => qualityWords(settled, quality)} />
      )}
      <td className="wrap" data-cell="kappa">
        {kappaWords(row.kappa)}
      </td>
      <Figure name="overlap" result={row.spanJaccard} words={v => v.toFixed(3)} />
    </tr>
  );
}

function Figure({ name, result, words }: { name: string; result: Computed; words: (value: number) => string }) {
  return (
    <td data-cell={name} className="wrap" title={reasonTitle(result)}>
      {result.value === null ? (
        <span className="soft small">not computable: {result.reason}</span>
      ) : (
        words(result.value)
      )}
    </td>
  );
}

function qualityWords({ counts, standing }: ReviewedSegment, quality: Computed): string {
  if (standing.sampled && quality.value !== null) {
    return `${sampledQualityWords(standing.sampled)}, ${standingWords(standing)}`;
  }
  const words = percent(quality, counts.right);
  return standing.status === 'final' ? words : `${words}, ${standingWords(standing)}`;
}

function signed(points: number): string {
  const shown = points.toFixed(2);
  return Number(shown) === 0 ? '0.00' : points > 0 ? `+${shown}` : shown.replace('-', '−');
}

function kappaWords(kappa: Kappa): string {
  if (kappa.value === null) return `not computable: ${kappa.reason}`;
  const interval = kappa.interval
    ? ` (${kappa.interval.map(threePlaces).join(' to ')})`
    : ' (no interval: its standard error is 0)';
  return `${threePlaces(kappa.value)}${interval}`;
}

function threePlaces(value: number): string {
  return value.toFixed(3).replace('-', '−');
}

/** What kappa is computed from: how often A said this and B said that. */
function VerdictTables({ segments, a, b }: { segments: readonly SegmentComparison[]; a: string; b: string }) {
  return (
    <details data-testid="verdict-tables">
      <summary>Verdicts on the detected marks, table by table</summary>
      <div className="verdict-tables">
        {segments.map(s => (
          <table key={s.segment.name}>
            <caption>
              {s.segment.name}{' '}
              <span className="soft small">
                {s.kappa.value === null
                  ? ''
                  : `${s.kappa.n} marks, ${(100 * s.kappa.observedAgreement).toFixed(1)} % the same`}
              </span>
            </caption>
            <TableHead columns={[`by ${a} ↓ by ${b} →`, ...verdictCategories]} />
            <tbody>
              {verdictCategories.map((c, i) => (
                <tr key={c}>
                  <th scope="row">{c}</th>
                  {s.verdictTable[i]!.map((n, j) => (
                    <td key={verdictCategories[j]}>{n}</td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        ))}
      </div>
    </details>
  );
}
