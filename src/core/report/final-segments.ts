import type { Segment } from '../recording/recording';
import type { SessionRecording } from '../review/session';
import { segmentsUnderReview } from '../review/standing/coverage';
import { isFinal } from '../review/standing/reviewed-score';
import type { CountedReview } from './counted-review';

/** The recording with those of its segments that are final; null when none is. Nothing else enters a study's numbers. */
function withFinalSegments(counted: CountedReview, item: SessionRecording): SessionRecording | null {
  const grounds = counted.groundsOf(item.recording.id);
  return only(item, segment => isFinal(item, segment, grounds));
}

/** The same, of segments that are final on the other recording too, where that has one of the name. */
export function withFinalInBoth(
  counted: CountedReview,
  item: SessionRecording,
  other: SessionRecording,
): SessionRecording | null {
  const grounds = counted.groundsOf(other.recording.id);
  const open = segmentsUnderReview(other).filter(segment => !isFinal(other, segment, grounds));
  const whole = other.segments.length === 0 && open.length > 0;
  const own = whole ? null : withFinalSegments(counted, item);
  return own && only(own, segment => !open.some(o => o.name === segment.name));
}

function only(item: SessionRecording, holds: (segment: Segment) => boolean): SessionRecording | null {
  const all = segmentsUnderReview(item);
  const kept = all.filter(holds);
  if (kept.length === 0) return null;
  return kept.length === all.length ? item : { ...item, segments: kept };
}

/** The recordings with their final segments: whatever is pooled over volunteers comes from these. */
export function finalItems(counted: CountedReview): SessionRecording[] {
  return counted.session.recordings.flatMap(item => withFinalSegments(counted, item) ?? []);
}
