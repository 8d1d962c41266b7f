import { nearestApex, polarityAt } from '../../core/detector/nearest-apex';
import { between } from '../../core/marks/markset';
import type { SampleIndex } from '../../core/units';
import { active, type ReviewWorkspace } from './workspace';

/** Neighbouring marks within this many seconds tell which way the R waves of the shown lead point. */
const aroundSec = 5;

/** The R apex nearest to a sample on the lead that is shown (the first, when all are). The sample itself when the signal is not in memory yet. */
export function apexNear(workspace: ReviewWorkspace, sample: SampleIndex): SampleIndex {
  const { item, review, rateHz } = active(workspace);
  const { recordingId, leads } = workspace.view.getState();
  const index = leads === 'all' ? 0 : leads;
  const lead = item.recording.leads[index];
  if (!lead) return sample;
  const scale = lead.samplingRateHz / rateHz;
  const at = Math.round(sample * scale);
  const start = Math.max(0, Math.round(at - aroundSec * lead.samplingRateHz));
  const end = Math.min(lead.sampleCount, Math.round(at + aroundSec * lead.samplingRateHz));
  const words = workspace.signals.peek(recordingId, index, start, end);
  if (!words) return sample;
  const near = between(review.marks, sample - aroundSec * rateHz, sample + aroundSec * rateHz);
  const others = [...near].filter(m => Math.abs(m - sample) > rateHz * 0.15).map(m => Math.round(m * scale) - start);
  const apex = nearestApex(words, at - start, lead.samplingRateHz, polarityAt(words, others, lead.samplingRateHz));
  return Math.round((apex + start) / scale) as SampleIndex;
}
