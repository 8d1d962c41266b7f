import type { SamplePlan } from '../../core/marks/sampling';
import { withSharedSamples } from '../../core/review/raters/shared-samples';
import type { SharedSample } from '../../core/review/session';
import { segmentsUnderReview } from '../../core/review/standing/coverage';
import { layOutPlan, type SampledReview } from '../../core/review/standing/sampled';
import { planSample } from '../../core/sample/plan';
import { SampledQuality } from '../../core/sample/sampled-quality';
import type { HasLibrary } from '../library';
import type { HasUi, Notices } from '../stores/ui-store';
import { followedSamples } from './followed-samples';
import { type ReviewStore, reviewOf } from './review-store';
import { changeOpenSession } from './session-change';
import { active, itemOf, type ReviewWorkspace } from './workspace';

/** What the rater chooses before a sample is planned. */
export interface SampleChoice {
  readonly segment: string | null;
  /** As a share; null: half a point where quality is 99 % or better, else one. */
  readonly halfWidth: number | null;
}

export const sampledStretchSeconds = 5;
const contextSeconds = 2;

/** Sampled numbers of a recording as reviewed, worked out once for each state. */
export function sampledOf(workspace: ReviewWorkspace, recordingId: string): readonly SampledReview[] {
  const review = reviewOf(workspace.review.get(), recordingId);
  return followedSamples(itemOf(workspace, recordingId), review, workspace.scoreOf(recordingId));
}

/** The plan of a choice: the one shared by all raters where there is one. Null while the recording is still being analysed. */
export function planFor(workspace: ReviewWorkspace, choice: SampleChoice, seed: number): SamplePlan | null {
  const { item, rateHz } = active(workspace);
  const { recordingId } = workspace.view.getState();
  const shared = sharedSample(workspace, choice.segment);
  if (shared) return { ...shared.plan, halfWidth: choice.halfWidth };
  const analysed = workspace.suspicions.analysed?.(recordingId) ?? null;
  if (!analysed) return null;
  const all = segmentsUnderReview(item);
  return planSample({
    ...choice,
    ...analysed,
    seed,
    stretchSeconds: sampledStretchSeconds,
    contextSeconds,
    segments: choice.segment === null ? all : all.filter(s => s.name === choice.segment),
    samplingRateHz: rateHz,
    detected: item.detected,
  });
}

export interface Expected {
  readonly plan: SamplePlan | null;
  readonly stretches: number;
  readonly draws: number;
  readonly minutes: number;
  /** Why no sample of this can be planned; null when it can. */
  readonly problem: string | null;
}

/** What a sample of this choice will take, by what is usual; null while the recording is still being analysed. */
export function expectedDraws(workspace: ReviewWorkspace, choice: SampleChoice): Expected | null {
  try {
    const plan = planFor(workspace, choice, 1);
    const laidOut = plan && layOutPlan(active(workspace).item, plan);
    if (!laidOut) return null;
    const shared = sharedSample(workspace, choice.segment);
    const draws = shared?.drawn ?? new SampledQuality(laidOut.population).needed(choice.halfWidth ?? 0.005);
    const minutes = Math.ceil((draws * sampledStretchSeconds) / 60);
    return { plan, stretches: laidOut.stretches.length, draws, minutes, problem: null };
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return { plan: null, stretches: 0, draws: 0, minutes: 0, problem: `${error.message}.` };
  }
}

/** The sample that others of this session review as well; null when there is none. */
export function sharedSample(workspace: ReviewWorkspace, segment: string | null): SharedSample | null {
  const { recordingId } = workspace.view.getState();
  const { samples = [] } = workspace.review.get().session;
  const { item } = active(workspace);
  const found = samples.find(s => s.recording === recordingId && s.plan.segment === segment);
  // One for segments that were changed since is of no use.
  return found && layOutPlan(item, found.plan) ? found : null;
}

/**
 * Puts the samples of this review into the session when one is planned and when the review is finished, so that other
 * raters get the same stretches and as many of them. Returns what stops it.
 */
export function followSamples(app: HasLibrary & HasUi<Notices>, review: ReviewStore): () => void {
  return review.subscribe((state, before) => {
    const { log, last } = state;
    if (last === before.last || (last?.intent !== 'sample' && last?.intent !== 'finish')) return;
    changeOpenSession(app, review, session => withSharedSamples(session, log)).catch((error: Error) =>
      app.ui.notify(`The sample was not saved for other raters: ${error.message}`),
    );
  });
}

/** A seed that nobody chose. */
export function newSeed(): number {
  return crypto.getRandomValues(new Uint32Array(1))[0]! >>> 1;
}
