import { coveredAmong, segmentsUnderReview } from '../../core/review/standing/coverage';
import { active, pageSpan, type ReviewWorkspace } from './workspace';

/**
 * Brings the offer to sign a segment off up to the review as it is now. A segment that has been looked at in full is
 * offered until it is signed off or something in it is open again, wherever the caret goes. Looks at the segments on the
 * page; `everywhere`, at all of the recording. Returns the name of a segment that is offered from now on.
 */
export function followSignOffOffer(workspace: ReviewWorkspace, everywhere = false): string | null {
  if (workspace.purpose !== 'review') return null;
  const { recordingId, signOffOffer } = workspace.view.getState();
  const before = signOffOffer?.recordingId === recordingId ? signOffOffer.segment : null;
  const waiting = waitingFor(workspace, everywhere, before);
  const segment = before !== null && waiting.includes(before) ? before : (waiting[0] ?? null);
  if (segment === before) return null;
  workspace.view.setState({ signOffOffer: segment === null ? null : { recordingId, segment } });
  return segment;
}

/** Names of segments that were looked at in full and are not signed off, in the order of time. */
function waitingFor(workspace: ReviewWorkspace, everywhere: boolean, offered: string | null): string[] {
  if (workspace.review.get().replayed.finished) return [];
  const { item, review } = active(workspace);
  const page = pageSpan(workspace);
  const segments = segmentsUnderReview(item).filter(
    s =>
      (everywhere || s.name === offered || (s.start < page.end && s.end > page.start)) &&
      !review.signOffs.some(o => o.segment === s.name),
  );
  return coveredAmong(item, review, segments, new Set()).map(i => segments[i]!.name);
}
