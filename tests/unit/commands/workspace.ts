import { vi } from 'vitest';
import type { QueueItem } from '../../../src/core/review/places/queue';
import type { SampleIndex } from '../../../src/core/units';
import { createClocks } from '../../../src/state/clocks/clocks';
import { createOccurrences } from '../../../src/state/review/occurrences';
import { createReviewStore, type ReviewStart } from '../../../src/state/review/review-store';
import { createSignals } from '../../../src/state/review/signals';
import { noSuspicions } from '../../../src/state/review/suspicions';
import { openGate, type ReviewWorkspace, scoresOf } from '../../../src/state/review/workspace';
import { createPrefsStore } from '../../../src/state/stores/prefs-store';
import { createUiStore } from '../../../src/state/stores/ui-store';
import { createViewStore } from '../../../src/state/stores/view-store';
import { madeSession } from '../formats/bundle/reviewed';

const now = () => new Date('2026-10-01T08:00:00Z');

/** What the keys of a review need of the page. */
export function createStatus() {
  return { ui: createUiStore(), clocks: createClocks(), prefs: createPrefsStore(), now };
}

/** The review of two recorders as made for bundles, nothing done yet; `queue` has the suspicious places by recorder. */
export function openWorkspace(
  queue: Readonly<Record<string, readonly QueueItem[]>> = {},
  start: Partial<ReviewStart> = {},
) {
  const made = madeSession(['R1']);
  const { session, logs } = made.reviewed;
  const log = { ...logs[0]!, entries: [] };
  const save = vi.fn(async () => undefined);
  const access = { writable: true, why: null };
  const review = createReviewStore({ session, log, others: [], access, ...start }, save, now);
  const view = createViewStore();
  view.setState({ recordingId: 'chest-band', rows: 1, caret: session.recordings[0]!.detected[0] as SampleIndex });
  const items = (id: string) => queue[id] ?? [];
  const workspace: ReviewWorkspace = {
    review,
    view,
    signals: createSignals(session.recordings.map(r => r.recording)),
    suspicions: { ...noSuspicions(true), items, itemsNow: items },
    occurrences: createOccurrences(),
    purpose: 'review',
    gate: openGate,
    scoreOf: scoresOf(review),
    close: async () => undefined,
  };
  return { workspace, session, save };
}
