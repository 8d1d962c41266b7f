import { between } from '../../core/marks/markset';
import type { SamplePlan } from '../../core/marks/sampling';
import { drawsOf, layOutPlan } from '../../core/review/standing/sampled';
import { pageStretches } from '../../core/sample/steps';
import type { Span } from '../../core/units';
import { isReadable, paperSpeeds, rowSeconds, rowsApart, type StretchRow } from '../stores/view-store';
import { active, pageSpans, putCaret, type ReviewWorkspace } from './workspace';

/** Stretches of a sample on the page, each in a row of its own. */

/** How many stretches the page has room for. */
export function stretchesThatFit(workspace: ReviewWorkspace): number {
  const { rowsThatFit } = workspace.view.getState().geometry;
  return Math.max(1, Math.min(pageStretches, rowsThatFit));
}

export interface SampledStretches {
  readonly segment: string | null;
  readonly plan: Pick<SamplePlan, 'stretchSeconds' | 'contextSeconds'>;
  /** In any order. */
  readonly stretches: readonly Span[];
}

/** Puts stretches on the page, in the order of time, at a paper speed at which each fits into its row with its context. */
export function layRows(workspace: ReviewWorkspace, { segment, plan, stretches }: SampledStretches): void {
  const view = workspace.view.getState();
  const shown = stretches.map(stretch => ({ stretch, skipped: false }));
  const mmPerSecond = speedFor(workspace, plan);
  workspace.view.setState({ mmPerSecond });
  place(workspace, view.recordingId, segment, shown);
}

/** A new width or paper speed: the same stretches, centred in their rows again. False where they do not fit any more. */
export function centreRows(workspace: ReviewWorkspace, mmPerSecond: number): boolean {
  const view = workspace.view.getState();
  const { sampling } = view;
  if (!rowsApart(view) || !sampling) return false;
  const plan = active(workspace).review.samplePlans.find(p => p.segment === sampling.segment);
  if (!plan || !holds(workspace, plan, mmPerSecond)) return false;
  workspace.view.setState({ mmPerSecond });
  place(workspace, sampling.recordingId, sampling.segment, sampling.rows);
  return true;
}

/**
 * As many of the next stretches as fit now, with the caret on one of them: there is room for more rows or fewer, or what was
 * taken last was taken back. False where no sample is reviewed, or nothing of it is left.
 */
export function refillRows(workspace: ReviewWorkspace): boolean {
  const { sampling } = workspace.view.getState();
  const { item, review } = active(workspace);
  const plan = review.samplePlans.find(p => p.segment === sampling?.segment);
  const laidOut = plan && layOutPlan(item, plan);
  if (!sampling || !laidOut) return false;
  const { next } = drawsOf(item, review, laidOut, stretchesThatFit(workspace));
  const stretches = next.map(i => laidOut.stretches[i]!);
  if (stretches.length === 0) return false;
  layRows(workspace, { segment: sampling.segment, plan, stretches });
  const { caret } = workspace.view.getState();
  if (!pageSpans(workspace).some(s => caret >= s.start && caret < s.end)) {
    const { start, end } = rowsApart(workspace.view.getState())![0]!.stretch;
    putCaret(workspace, between(review.marks, start, end)[0] ?? start, true);
  }
  return true;
}

function place(
  workspace: ReviewWorkspace,
  recordingId: string,
  segment: string | null,
  shown: readonly Pick<StretchRow, 'stretch' | 'skipped'>[],
): void {
  const { item, rateHz } = active(workspace);
  const view = workspace.view.getState();
  const seconds = rowSeconds(view, view.geometry);
  const last = Math.max(0, item.recording.sampleCount / rateHz - seconds);
  const rows = [...shown]
    .sort((a, b) => a.stretch.start - b.stretch.start)
    .map(({ stretch, skipped }) => {
      const centred = (stretch.start + stretch.end) / 2 / rateHz - seconds / 2;
      return { stretch, skipped, startSeconds: Math.max(0, Math.min(last, centred)) };
    });
  workspace.view.setState({
    sampling: { recordingId, segment, mmPerSecond: view.mmPerSecond, rows },
    startSeconds: rows[0]!.startSeconds,
  });
}

function holds(workspace: ReviewWorkspace, plan: SampledStretches['plan'], mmPerSecond: number): boolean {
  const view = workspace.view.getState();
  const seconds = plan.stretchSeconds + 2 * plan.contextSeconds;
  return isReadable({ mmPerSecond }) && rowSeconds({ ...view, mmPerSecond }, view.geometry) >= seconds;
}

/** The speed now where it will do, else the nearest slower one; the slowest readable one where no row is long enough. */
function speedFor(workspace: ReviewWorkspace, plan: SampledStretches['plan']): number {
  const { mmPerSecond } = workspace.view.getState();
  const now = isReadable({ mmPerSecond }) ? mmPerSecond : usualSpeed;
  if (holds(workspace, plan, now)) return now;
  const readable = paperSpeeds.filter(s => isReadable({ mmPerSecond: s }));
  return readable.find(s => s < now && holds(workspace, plan, s)) ?? readable.at(-1)!;
}

const usualSpeed = 25;
