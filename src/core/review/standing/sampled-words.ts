import type { SampledNumber } from '../../sample/number';
import { percentLimits, percentText } from '../../score/percent-text';
import type { SampleProgress } from './sampled';

/** What stands beside every number from a sample, so that it is never read as one of a full review. */
export function sampledWords({ reviewed, stretches, exact }: SampleProgress & { readonly exact?: boolean }): string {
  return exact ? `sampled, all ${stretches} stretches reviewed` : `sampled, ${reviewed} of ${stretches} stretches`;
}

/** Estimate and interval in percent, or why there is none: '99.31 % (95 % interval 98.72 to 99.60 %)'. */
export function sampledQualityWords({ quality, interval95 }: SampledNumber): string {
  if (quality.value === null) return `not computable: ${quality.reason}`;
  return `${percentText(quality.value, 2)} % (95 % interval ${percentLimits(interval95!, 2).join(' to ')} %)`;
}

/** How the stretches came to be reviewed, and whether a bound was broken. Without the seed, which would give the order away. */
export function sampledCountWords({ drawn, known, skipped, boundFactor }: SampledNumber): string {
  const raised = boundFactor > 1 ? `; bounds raised by ${boundFactor.toFixed(2)}, because one did not hold` : '';
  return `${drawn} drawn, ${known} known, ${skipped} skipped${raised}`;
}
