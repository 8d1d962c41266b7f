import type { Standing } from './reviewed-score';
import { sampledWords } from './sampled-words';

/** What stands beside every quality: 'final', 'so far, 37 % looked at', 'sampled, 240 of 1440
 * stretches', 'not reviewed yet'. */
export function standingWords(standing: Standing): string {
  const { status, lookedAtShare, final, unsettled, sampled } = standing;
  if (sampled) return sampledWords(sampled);
  if (final) return `so far, ${final.segments} of ${final.of} segments final`;
  if (status === 'final' && lookedAtShare !== null && lookedAtShare < 1) {
    return `final, signed off at ${wholePercent(lookedAtShare)} looked at`;
  }
  if (status !== 'so far') return status;
  if (unsettled) return 'so far, without the differences that are not settled';
  return lookedAtShare === null
    ? 'so far, share looked at not known'
    : `so far, ${wholePercent(lookedAtShare)} looked at`;
}

/** The same where a ledger has little room: of what is final it says how much of it was looked at. */
export function lookedAtNote(standing: Standing): string {
  const { status, lookedAtShare } = standing;
  if (status !== 'final' || lookedAtShare === null || standing.sampled) return standingWords(standing);
  return lookedAtShare === 1 ? '100 % looked at' : `final, ${wholePercent(lookedAtShare)} looked at`;
}

/** Rounded down, so that a part never reads as the whole; what is more than nothing never as nothing. */
export function wholePercent(share: number): string {
  // 0.29 times 100 is a little less than 29.
  const percent = share < 1 ? Math.min(99, Math.floor(share * 100 + 1e-9)) : 100;
  return percent === 0 && share > 0 ? 'under 1 %' : `${percent} %`;
}

/** As columns of JSON. */
export function standingRow({ status, lookedAtShare, final }: Standing): Record<string, unknown> {
  return {
    status,
    lookedAtPercent: lookedAtShare === null ? null : 100 * lookedAtShare,
    ...(final ? { finalSegments: final.segments, segments: final.of } : {}),
  };
}
