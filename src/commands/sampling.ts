import { lowerBound } from '../core/marks/markset';
import type { SampledEntry } from '../core/marks/sampling';
import { drawsOf, layOutPlan, planReview, takeStretch } from '../core/review/standing/sampled';
import { sampledQualityWords, sampledWords } from '../core/review/standing/sampled-words';
import { newSeed, planFor, type SampleChoice, type ShownStretch, sampledOf } from '../state/review/sampling';
import { active, clampStart, pageSpan, putCaret, type ReviewWorkspace } from '../state/review/workspace';
import type { HasUi, StatusLine } from '../state/stores/ui-store';
import { isReadable, pageSeconds } from '../state/stores/view-store';
import { editing, perform, refuse } from './perform';

/** Reviewing a sample: stretch after stretch in a hidden order, with the keys of any review. */

/** Writes the plan into the log and shows the first stretch. */
export function startSample(workspace: ReviewWorkspace, app: HasUi<StatusLine>, choice: SampleChoice): boolean {
  const plan = planFor(workspace, choice, newSeed());
  if (!plan) return refuse(app, 'The recording is still being analysed: try again in a moment.');
  return (
    perform(workspace, app, 'sample', planReview(editing(workspace), plan)) && showNext(workspace, app, choice.segment)
  );
}

/** Shows the next stretch of the sample that is shown, or of the last one planned; false when there is none. */
export function goOnWithSample(workspace: ReviewWorkspace, app: HasUi<StatusLine>): boolean {
  const { review } = active(workspace);
  const shown = workspace.view.getState().sampling;
  const plan = review.samplePlans.find(p => shown && p.segment === shown.segment) ?? review.samplePlans.at(-1);
  if (!plan) return false;
  return showNext(workspace, app, plan.segment);
}

/** Back to a review in the order of time. */
export function leaveSample(workspace: ReviewWorkspace): void {
  workspace.view.setState({ sampling: null });
}

/** Whether the stretch that is shown is on the page, so that Enter accepts it. */
export function sampledOnPage(workspace: ReviewWorkspace): boolean {
  const { sampling } = workspace.view.getState();
  const page = pageSpan(workspace);
  return sampling !== null && page.start < sampling.stretch.end && page.end > sampling.stretch.start;
}

/** Marks the stretch that is shown as reviewed or skipped, and shows the next one. */
export function takeShown(
  workspace: ReviewWorkspace,
  app: HasUi<StatusLine>,
  outcome: SampledEntry['outcome'],
): boolean {
  const { sampling } = workspace.view.getState();
  if (!sampling) return refuse(app, 'No stretch of a sample is shown.');
  const refusal = outcome === 'reviewed' ? notToBeJudged(workspace, sampling) : null;
  if (refusal) return refuse(app, refusal);
  const { item, review } = active(workspace);
  const plan = review.samplePlans.find(p => p.segment === sampling.segment);
  const laidOut = plan && layOutPlan(item, plan);
  const index = laidOut?.stretches.findIndex(s => s.start === sampling.stretch.start) ?? -1;
  if (!laidOut || index < 0) return refuse(app, 'This stretch belongs to no sample of this recording.');
  const built = takeStretch(editing(workspace), laidOut, index, outcome);
  const intent = outcome === 'reviewed' ? 'accept' : 'skip';
  if (!perform(workspace, app, intent, built)) return false;
  showNext(workspace, app, sampling.segment);
  return true;
}

function notToBeJudged(workspace: ReviewWorkspace, { stretch }: ShownStretch): string | null {
  if (!isReadable(workspace.view.getState()))
    return 'Zoom in first: at this paper speed single beats cannot be judged.';
  const page = pageSpan(workspace);
  const whole = page.start <= stretch.start && page.end >= stretch.end;
  return whole ? null : 'Zoom out or add rows: the whole stretch must be on the page.';
}

function showNext(workspace: ReviewWorkspace, app: HasUi<StatusLine>, segment: string | null): boolean {
  const { item, review, rateHz } = active(workspace);
  const plan = review.samplePlans.find(p => p.segment === segment);
  const laidOut = plan && layOutPlan(item, plan);
  if (!laidOut) return refuse(app, 'The sample was planned for other segments than the recording has now.');
  const [next] = drawsOf(item, review, laidOut, 1).next;
  app.ui.status(progressWords(workspace, segment));
  if (next === undefined) {
    leaveSample(workspace);
    return true;
  }
  const stretch = laidOut.stretches[next]!;
  const around = Math.round(plan.contextSeconds * rateHz);
  const context = {
    start: Math.max(0, stretch.start - around) as typeof stretch.start,
    end: Math.min(item.recording.sampleCount, stretch.end + around) as typeof stretch.end,
  };
  workspace.view.setState({ sampling: { segment, stretch, context } });
  const view = workspace.view.getState();
  const seconds = pageSeconds(view, view.geometry);
  const spare = Math.max(0, seconds - (context.end - context.start) / rateHz) / 2;
  workspace.view.setState({ startSec: clampStart(workspace, context.start / rateHz - spare) });
  putCaret(workspace, review.marks[lowerBound(review.marks, stretch.start)] ?? stretch.start, true);
  return true;
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
