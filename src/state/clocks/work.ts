import { outside } from '../../core/marks/match';
import { union } from '../../core/marks/spans';
import { median } from '../../core/moments';
import { durationSeconds } from '../../core/recording/recording';
import { clockDoubts, driftError, noError } from '../../core/report/pairs/clock-doubts';
import type { AppliedClock } from '../../core/report/pairs/recorder-pairs';
import { clockResiduals } from '../../core/report/pairs/recorder-pairs';
import { residualsFigure } from '../../report/figures/residuals-figure';
import { openAnalysis } from '../../workers/analysis';
import { reviewOf } from '../review/review-store';
import { itemOf, type ReviewWorkspace } from '../review/workspace';

/** Beats as reviewed so far, outside what cannot be read, in s from the recording's start. */
function reviewedTimes(workspace: ReviewWorkspace, recordingId: string): Float64Array {
  const { recording } = itemOf(workspace, recordingId);
  const review = reviewOf(workspace.review.get(), recordingId);
  const beats = outside(review.marks, union(review.unreadable, recording.gaps));
  return Float64Array.from(beats, b => b / recording.samplingRateHz);
}

export type FittedClock = { readonly fit: AppliedClock } | { readonly reason: string };

/** Offset and drift from the beats of both, in the background. */
export async function findClock(workspace: ReviewWorkspace, referenceId: string, id: string): Promise<FittedClock> {
  const analysis = openAnalysis();
  try {
    const timesA = reviewedTimes(workspace, referenceId);
    const timesB = reviewedTimes(workspace, id);
    const found = await analysis.start('clocks', { timesA, timesB }).done;
    if (!found.found) return { reason: found.reason };
    return { fit: { offsetSeconds: found.offsetSeconds, driftPpm: found.driftPpm, from: 'matched beats' } };
  } finally {
    analysis.close();
  }
}

/** How well a clock fits: beats of both near the line, their spread, and the picture of what is left. */
export function clockCheck(workspace: ReviewWorkspace, referenceId: string, id: string, fit: AppliedClock) {
  const line = { offsetSeconds: fit.offsetSeconds, driftPpm: fit.driftPpm };
  const times = reviewedTimes(workspace, referenceId);
  const { secondsA, residualsMs } = clockResiduals(times, reviewedTimes(workspace, id), line);
  const name = (one: string) => itemOf(workspace, one).recording.recorder;
  const residualSdMs = residualsMs.length > 0 ? 1.4826 * median(residualsMs.map(Math.abs)) : null;
  // Of a clock that was set by hand or comes from start times the beats do not tell how far it can be off.
  const isFound = fit.from === 'matched beats' && residualSdMs !== null;
  const seconds = durationSeconds(itemOf(workspace, referenceId).recording);
  const { endErrorMs } = isFound ? driftError(secondsA, residualSdMs, seconds) : noError;
  return {
    beats: times.length,
    pairs: residualsMs.length,
    residualSdMs,
    doubts: clockDoubts(fit.driftPpm, endErrorMs),
    figure: residualsFigure(secondsA, residualsMs, [name(referenceId), name(id)]),
  };
}
