import { beatWords, raterStanding, showDifference, unreadableWords } from '../../commands/settle';
import type { RecordingReview } from '../../core/marks/edit';
import type { Disagreement, DisagreementKind } from '../../core/review/raters/disagreements';
import { settlementOf } from '../../core/review/raters/settle';
import { clock } from '../../state/clocks/text';
import { reviewOf } from '../../state/review/review-store';
import { itemOf } from '../../state/review/workspace';
import { useApp, usePart } from '../app-context';
import { TableHead } from '../controls/table-head';
import { useComparison } from './use-comparison';

const kinds: readonly DisagreementKind[] = ['only A', 'only B', 'placed apart', 'span differs'];

/** A kind of difference as it is shown. */
export function kindWords(kind: DisagreementKind): string {
  return kind === 'placed apart' ? 'different positions' : kind;
}

/** The list of differences of the current recording, by kind, each with its answer. */
export function Differences() {
  const app = useApp();
  const workspace = useComparison();
  const { comparing } = workspace;
  usePart(workspace.review.store, s => s.replayed);
  const recordingId = usePart(workspace.view, v => v.recordingId);
  const { inHand, kind } = usePart(comparing.store, s => s);
  const list = comparing.comparisonOf(recordingId)?.disagreements ?? [];
  const review = reviewOf(workspace.review.get(), recordingId);
  const settling = comparing.settling();
  const left = list.filter(d => settlementOf(review, d) === null).length;
  const rateHz = itemOf(workspace, recordingId).recording.samplingRateHz;
  const count = (k: DisagreementKind) => list.filter(d => d.kind === k).length;
  return (
    <section aria-label="Differences">
      <div className="row">
        <h2>
          {list.length} {list.length === 1 ? 'difference' : 'differences'}
        </h2>
        {settling && (
          <span className={left > 0 ? 'needs' : 'soft'} data-testid="left-to-settle">
            {left} to settle
          </span>
        )}
        <select
          aria-label="Kind of differences shown"
          value={kind ?? ''}
          onChange={e => comparing.store.setState({ kind: (e.target.value || null) as DisagreementKind | null })}
        >
          <option value="">every kind</option>
          {kinds.map(k => (
            <option key={k} value={k}>
              {kindWords(k)} ({count(k)})
            </option>
          ))}
        </select>
      </div>
      <div className="difference-list">
        <table className="differences" data-testid="differences">
          <TableHead columns={['kind', 'at', { left: 'segment' }, ...(settling ? [{ left: 'taken' }] : [])]} />
          <tbody>
            {list.map((d, i) =>
              kind === null || d.kind === kind ? (
                <tr
                  key={`${d.kind} ${d.at}`}
                  className={i === inHand ? 'current' : ''}
                  ref={i === inHand ? reveal : null}
                >
                  <td className="left">
                    <button
                      type="button"
                      className="count"
                      aria-current={i === inHand}
                      onClick={() => showDifference(workspace, app, i)}
                    >
                      {kindWords(d.kind)}
                    </button>
                  </td>
                  <td>{clock(d.at / rateHz, 2)}</td>
                  <td className="left wrap">{d.segment ?? 'outside all segments'}</td>
                  {settling && (
                    <td className="left wrap" data-cell="taken">
                      {takenWords(review, d, rateHz)}
                    </td>
                  )}
                </tr>
              ) : null,
            )}
          </tbody>
        </table>
      </div>
    </section>
  );
}

/** The current row stays in sight while the keys walk the list. */
function reveal(row: HTMLTableRowElement | null): void {
  row?.scrollIntoView({ block: 'nearest' });
}

/** Whose answer was taken and what stands there now, e.g. `A: no beat`; a dash while it waits. */
export function takenWords(review: RecordingReview, d: Disagreement, rateHz: number): string {
  const take = settlementOf(review, d)?.take;
  return take === undefined ? '–' : `${take === 'new' ? 'new position' : take}: ${raterStanding(review, d, rateHz)}`;
}

/** What each rater has at a difference, in words. */
export function sideWords(d: Disagreement, side: 'A' | 'B', rateHz: number): string {
  if (d.kind === 'span differs') {
    const [span] = d.territory;
    return d.unreadableBy === side ? unreadableWords(span ? span.end - span.start : 0, rateHz) : 'readable';
  }
  const mark = side === 'A' ? d.a : d.b;
  return beatWords(mark === null ? [] : [mark], rateHz);
}
