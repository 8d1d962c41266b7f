import { between } from '../core/marks/markset';
import type { SampledEntry } from '../core/marks/sampling';
import { drawsOf, layOutPlan, planReview, takeStretches } from '../core/review/standing/sampled';
import { sampledQualityWords, sampledWords } from '../core/review/standing/sampled-words';
import type { LaidOutPlan } from '../core/sample/plan';
import type { Span } from '../core/units';
import { layRows, stretchesThatFit } from '../state/review/sampled-page';
import { newSeed, planFor, type SampleChoice, sampledOf } from '../state/review/sampling';
import { active, pageSpans, putCaret, type ReviewWorkspace } from '../state/review/workspace';
import type { HasUi, StatusLine } from '../state/stores/ui-store';
import { rowsApart, type StretchRow } from '../state/stores/view-store';
import { editing, perform, refuse } from './perform';

/** Reviewing a sample: page after page of stretches in a hidden order, with the keys of any review. */

/** Writes the plan into the log and shows the first stretches. */
export function startSample(workspace: ReviewWorkspace, app: HasUi<StatusLine>, choice: SampleChoice): boolean {
  const plan = planFor(workspace, choice, newSeed());
  if (!plan) return refuse(app, 'The recording is still being analysed: try again in a moment.');
  return (
    perform(workspace, app, 'sample', planReview(editing(workspace), plan)) && showNext(workspace, app, choice.segment)
  );
}

/** Shows the next stretches of the sample that is shown, or of the last one planned; false when there is none. */
export function goOnWithSample(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const { review } = active(workspace);
  const shown = workspace.view.getState().sampling;
  const plan = review.samplePlans.find(p => shown && p.segment === shown.segment) ?? review.samplePlans.at(-1);
  if (plan) return showNext(workspace, app, plan.segment);
  const { givenSample: given } = workspace;
  if (!given || !perform(workspace, app, 'sample', planReview(editing(workspace), given))) return false;
  return showNext(workspace, app, given.segment);
}

/** Whether a sample can be reviewed here: in a review, and in a lesson that is about one. */
export function maySample({ purpose, givenSample, review }: ReviewWorkspace): boolean {
  return purpose === 'review' || (givenSample !== undefined && !review.get().replayed.finished);
}

/** Back to a review in the order of time. */
export function leaveSample(workspace: ReviewWorkspace): void {
  workspace.view.setState({ sampling: null });
}

/** Whether the page shows stretches of a sample, so that Enter accepts these. */
export function sampledOnPage(workspace: ReviewWorkspace): boolean {
  return rowsApart(workspace.view.getState()) !== null;
}

/** Marks the stretches on the page as reviewed, but those skipped, and shows the next ones. */
export function acceptStretches(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const page = shownPage(workspace);
  if (!page) return refuse(app, notShown);
  const refusal = notToBeJudged(workspace, page.rows);
  if (refusal) return refuse(app, refusal);
  const left = page.rows.filter(r => !r.skipped);
  return take(workspace, app, page, left, 'reviewed') && showNext(workspace, app, page.segment);
}

/** Leaves the stretch of the caret out; with none left on the page the next ones are shown. */
export function skipStretch(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const page = shownPage(workspace);
  if (!page) return refuse(app, notShown);
  const row = page.rows[rowOfCaret(workspace)]!;
  if (row.skipped) return refuse(app, 'This stretch is skipped already.');
  if (!take(workspace, app, page, [row], 'skipped')) return false;
  const rows = page.rows.map(r => (r === row ? { ...r, skipped: true } : r));
  const left = rows.filter(r => !r.skipped);
  if (left.length === 0) return showNext(workspace, app, page.segment);
  workspace.view.setState({ sampling: { ...page, rows } });
  goToStretch(workspace, (left.find(r => r.stretch.start > row.stretch.start) ?? left[0]!).stretch);
  app.ui.status('Skipped: it counts as not known.');
  return true;
}

const notShown = 'No stretch of a sample is shown.';

function shownPage(workspace: ReviewWorkspace) {
  const view = workspace.view.getState();
  return rowsApart(view) ? view.sampling : null;
}

function take(
  workspace: ReviewWorkspace,
  app: HasUi<StatusLine>,
  { segment }: { readonly segment: string | null },
  rows: readonly StretchRow[],
  outcome: SampledEntry['outcome'],
): boolean {
  const laidOut = laidOutSample(workspace, segment);
  const found = rows.flatMap(r => laidOut?.places.get(r.stretch.start) ?? []);
  if (!laidOut || found.length < rows.length)
    return refuse(app, 'This stretch belongs to no sample of this recording.');
  // In the hidden order, in which they enter the sums.
  const ranks = new Map(found.map(i => [i, laidOut.order.indexOf(i)] as const));
  const indices = found.sort((a, b) => ranks.get(a)! - ranks.get(b)!);
  const built = takeStretches(editing(workspace), laidOut, indices, outcome);
  return perform(workspace, app, outcome === 'reviewed' ? 'accept' : 'skip', built);
}

function laidOutSample(workspace: ReviewWorkspace, segment: string | null): LaidOutPlan | null {
  const { item, review } = active(workspace);
  const plan = review.samplePlans.find(p => p.segment === segment);
  return plan ? layOutPlan(item, plan) : null;
}

function notToBeJudged(workspace: ReviewWorkspace, rows: readonly StretchRow[]): string | null {
  const spans = pageSpans(workspace);
  const whole = rows.every(({ stretch: s }, i) => spans[i]!.start <= s.start && spans[i]!.end >= s.end);
  return whole ? null : 'The window is too narrow for a whole stretch at a readable paper speed: make it wider.';
}

function showNext(workspace: ReviewWorkspace, app: HasUi<StatusLine>, segment: string | null): boolean {
  const { item, review } = active(workspace);
  const laidOut = laidOutSample(workspace, segment);
  if (!laidOut) return refuse(app, 'The sample was planned for other segments than the recording has now.');
  const { next } = drawsOf(item, review, laidOut, stretchesThatFit(workspace));
  app.ui.status(progressWords(workspace, segment));
  if (next.length === 0) {
    leaveSample(workspace);
    return true;
  }
  const stretches = next.map(i => laidOut.stretches[i]!);
  layRows(workspace, { segment, plan: laidOut.plan, stretches });
  goToStretch(workspace, rowsApart(workspace.view.getState())![0]!.stretch);
  return true;
}

/** The first mark of a stretch, or its start where it has none. */
function goToStretch(workspace: ReviewWorkspace, { start, end }: Span): void {
  putCaret(workspace, between(active(workspace).review.marks, start, end)[0] ?? start, true);
}

/** Index of the row the caret is in: where its stretch is shown, else where it is shown for context. */
function rowOfCaret(workspace: ReviewWorkspace): number {
  const view = workspace.view.getState();
  const rows = rowsApart(view)!;
  const own = rows.findIndex(({ stretch }) => view.caret >= stretch.start && view.caret < stretch.end);
  if (own >= 0) return own;
  return Math.max(
    0,
    pageSpans(workspace).findIndex(s => view.caret >= s.start && view.caret < s.end),
  );
}

/**
 * Where a step beyond the rows of a sample's page goes: into the stretch of the next row, or of the one before. Null where
 * `mark` is on the page, or the page is no such page; 'end' after the last stretch and before the first.
 */
export function markInNextRow(workspace: ReviewWorkspace, mark: number, direction: 1 | -1): number | 'end' | null {
  const rows = rowsApart(workspace.view.getState());
  const spans = pageSpans(workspace);
  if (!rows || spans.some(s => mark >= s.start && mark < s.end)) return null;
  const { marks } = active(workspace).review;
  const row = direction === 1 ? spans.findIndex(s => s.start > mark) : spans.findLastIndex(s => s.end <= mark);
  if (row < 0) return 'end';
  const { start, end } = rows[row]!.stretch;
  const inside = between(marks, start, end);
  return (direction === 1 ? inside[0] : inside.at(-1)) ?? start;
}

function progressWords(workspace: ReviewWorkspace, segment: string | null): string {
  const { recordingId } = workspace.view.getState();
  const found = sampledOf(workspace, recordingId).find(s => s.laidOut.plan.segment === segment);
  if (!found) return '';
  const { whole } = found;
  if (whole.quality.value === null) return `${sampledWords(whole)}.`;
  const stop = whole.reached ? ' As narrow as wanted: you can stop here, or go on.' : '';
  return `${sampledWords(whole)}: ${sampledQualityWords(whole)}.${stop}`;
}
