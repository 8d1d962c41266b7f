import type { NotSinusBeat } from '../../detector/sinus/not-sinus';
import type { RecordingReview } from '../../marks/edit';
import { has } from '../../marks/markset';
import { covers } from '../../marks/spans';
import { asidePlace } from '../edits';

/** The proposed beats that the rater has neither marked as not sinus nor set aside, in time order. */
export function openProposals(
  beats: readonly NotSinusBeat[],
  {
    marks,
    notSinus,
    dismissals,
    unreadable,
  }: Pick<RecordingReview, 'marks' | 'notSinus' | 'dismissals' | 'unreadable'>,
): NotSinusBeat[] {
  const aside = new Set<number>(dismissals.filter(d => d.reason === asidePlace).map(d => d.at));
  return beats.filter(b => has(marks, b.at) && !has(notSinus, b.at) && !aside.has(b.at) && !covers(unreadable, b.at));
}
