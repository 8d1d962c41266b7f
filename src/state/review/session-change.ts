import type { Session } from '../../core/review/session';
import type { HasLibrary } from '../library';
import type { ReviewStore } from './review-store';

/**
 * Changes the session of an open review: shown at once, then stored. Another tab may have it open as well, for another rater:
 * what was changed there meanwhile stays, and is taken over here.
 */
export async function changeOpenSession(
  app: { readonly library: Pick<HasLibrary['library'], 'changeSession'> },
  review: ReviewStore,
  change: (session: Session) => Session,
): Promise<void> {
  const before = review.get().session;
  const shown = change(before);
  if (shown === before) return;
  review.setSession(shown);
  const stored = await app.library.changeSession(before, change);
  // Where one change follows the other at once, the last one brings what is stored.
  if (review.get().session === shown) review.setSession(withChangesOf(stored, shown));
}

/** What a session may change in, from `stored`; the marks stay the very arrays that are known here. */
function withChangesOf(stored: Session, shown: Session): Session {
  const { samples: _, ...rest } = shown;
  const segments = new Map(stored.recordings.map(r => [r.recording.id, r.segments]));
  const recordings = shown.recordings.map(r => ({ ...r, segments: segments.get(r.recording.id) ?? r.segments }));
  const taken = {
    ...rest,
    recordings,
    settings: stored.settings,
    ...(stored.samples ? { samples: stored.samples } : {}),
  };
  return parts(taken) === parts(shown) ? shown : taken;
}

const parts = ({ settings, samples, recordings }: Session) =>
  JSON.stringify([settings.onPeakToleranceMs, settings.wrongPeakWindowMs, samples, recordings.map(r => r.segments)]);
