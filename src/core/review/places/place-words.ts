import type { QueueItem } from './queue';

/** Why a place is worth a look; where several beats may be missing, how many. */
export function placeWords({ mark, leads, sentence }: Pick<QueueItem, 'mark' | 'leads' | 'sentence'>): string {
  return mark === null && leads.length > 1 ? `${leads.length} beats may be missing: ${sentence}` : sentence;
}

/** A chance of a mistake in percent. No estimate is as sure as 0 or 100 %. */
export function chanceWords(chance: number): string {
  const percent = Math.round(100 * chance);
  if (percent >= 100) return 'over 99 %';
  return percent <= 0 ? 'under 1 %' : `${percent} %`;
}
