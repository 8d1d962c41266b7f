import { apexToInsert, apexToSnap, otherPeak } from '../../core/detector/nearest-apex';
import { between } from '../../core/marks/markset';
import { ecgLeadOf } from '../../core/recording/ecg-lead';
import type { SampleIndex } from '../../core/units';
import { active, type ReviewWorkspace } from './workspace';

/** Marks within this many seconds are the family that a beat is compared with; fewer where the signal is not in memory. */
const aroundSeconds = [20, 5] as const;

/** Which apex is asked for: where a beat is to be inserted, where a mark belongs, or the nearest other peak. */
export type WhichApex = 'insert' | 'snap' | 'other peak';

/**
 * The apex asked for near a sample, on the lead that is shown (that under review, when all are). The sample itself when there is
 * none, or when the signal is not in memory yet.
 */
export function apexNear(workspace: ReviewWorkspace, sample: SampleIndex, which: WhichApex): SampleIndex {
  const { item, review, rateHz } = active(workspace);
  const { recordingId, leads } = workspace.view.getState();
  const index = leads === 'all' ? ecgLeadOf(item.recording) : leads;
  const lead = item.recording.leads[index];
  if (!lead) return sample;
  const scale = lead.samplingRateHz / rateHz;
  const at = Math.round(sample * scale);
  for (const seconds of aroundSeconds) {
    const reach = Math.round(seconds * lead.samplingRateHz);
    const start = Math.max(0, at - reach);
    const words = workspace.signals.peek(recordingId, index, start, Math.min(lead.sampleCount, at + reach));
    if (!words) continue;
    const near = between(review.marks, (start - 1) / scale, (at + reach) / scale);
    const marks = near.filter(m => m !== sample).map(m => Math.round(m * scale) - start);
    const apex = apexIn(which, words, at - start, marks, lead.samplingRateHz);
    return apex === at - start ? sample : (Math.round((apex + start) / scale) as SampleIndex);
  }
  return sample;
}

function apexIn(which: WhichApex, ...[words, at, marks, hz]: Parameters<typeof apexToSnap>): number {
  if (which === 'other peak') return otherPeak(words, at, hz) ?? at;
  return (which === 'snap' ? apexToSnap : apexToInsert)(words, at, marks, hz);
}
