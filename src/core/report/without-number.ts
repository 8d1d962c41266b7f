import { hasIntervals } from '../score/score';
import type { SegmentRow } from './rows';

/** Final segments of one recorder on one volunteer that have no quality: no table over volunteers has them. */
export interface WithoutNumber {
  readonly volunteer: string;
  readonly recorder: string;
  readonly segments: number;
  readonly reason: 'no readable beat' | 'no interval to judge';
}

/** Whether a final segment has intervals to count, so that it enters the numbers over volunteers. */
export function hasNumber({ standing, counts }: Pick<SegmentRow, 'standing' | 'counts'>): boolean {
  return standing.status === 'final' && hasIntervals(counts);
}

/** In the order of the segments. */
export function withoutNumber(segments: readonly SegmentRow[]): WithoutNumber[] {
  const found = new Map<string, WithoutNumber>();
  for (const row of segments.filter(s => s.standing.status === 'final' && !hasNumber(s))) {
    const reason = row.counts.lost === null ? 'no readable beat' : 'no interval to judge';
    const key = [row.volunteer, row.recorder, reason].join('\n');
    const { volunteer, recorder } = row;
    found.set(key, { volunteer, recorder, reason, segments: (found.get(key)?.segments ?? 0) + 1 });
  }
  return [...found.values()];
}

/** Volunteers who enter the numbers over volunteers. */
export function volunteersWithNumber(segments: readonly SegmentRow[]): number {
  return new Set(segments.filter(hasNumber).map(s => s.volunteer)).size;
}
