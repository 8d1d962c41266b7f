import { createStore } from 'zustand/vanilla';
import { leadsWith } from '../../core/detector/lead-choice';
import { type Candidate, listed, type Suspicion } from '../../core/detector/suspicion/suspicion';
import type { RecordingReview } from '../../core/marks/edit';
import type { Marks } from '../../core/marks/markset';
import { ecgLeadOf } from '../../core/recording/ecg-lead';
import type { QueueItem } from '../../core/review/places/queue';
import { createRanking, type LeadAnalysis } from '../../core/review/places/ranking';
import type { SessionRecording } from '../../core/review/session';
import type { SampleIndex } from '../../core/units';
import { openAnalysis } from '../../workers/analysis';
import { type ReviewStore, reviewOf } from './review-store';

export type { QueueItem } from '../../core/review/places/queue';

export interface Suspicions {
  /** Ranked, most suspicious first; empty until the recording has been looked through. */
  items(recordingId: string): readonly QueueItem[];
  /** Ranked for the marks as they are this moment: for keys that act on the queue. */
  itemsNow(recordingId: string): readonly QueueItem[];
  ready(recordingId: string): boolean;
  /** Why a recording cannot be looked through; null when it can. */
  whyNone?(recordingId: string): string | null;
  /** What a sample is planned by: what the recording is suspected of as detected; null until it has been looked through. */
  analysed?(recordingId: string): { readonly second: Marks; readonly suspected: readonly Suspicion[] } | null;
  getState(): { readonly version: number };
  subscribe(listener: () => void): () => void;
  stop(): void;
}

interface Watched {
  readonly seen: LeadAnalysis;
  readonly rank: ReturnType<typeof createRanking>;
  review: RecordingReview | null;
  items: readonly QueueItem[];
}

const restMs = 250;

/**
 * The queue of each recording: the signal is looked through once in a worker, the ranking follows every edit a moment
 * later, so that no key waits for it. `stored`: resolves when the signal can be looked through, where it is not stored yet.
 */
export function createSuspicions(
  review: ReviewStore,
  onProblem: (error: unknown, tryAgain: () => void) => void,
  stored?: Promise<void>,
): Suspicions {
  const store = createStore(() => ({ version: 0 }));
  const watched = new Map<string, Watched>();
  const none = new Map<string, string>();
  const analysis = openAnalysis();
  let timer: ReturnType<typeof setTimeout> | undefined;
  let stopped = false;
  let tookMs = 0;
  const rank = () => {
    clearTimeout(timer);
    const before = performance.now();
    const state = review.get();
    let changed = false;
    for (const item of state.session.recordings) {
      const w = watched.get(item.recording.id);
      const now = reviewOf(state, item.recording.id);
      if (w && w.review !== now) {
        w.items = w.rank(now);
        w.review = now;
        changed = true;
      }
    }
    if (!changed) return;
    tookMs = performance.now() - before;
    store.setState(s => ({ version: s.version + 1 }));
  };
  // Where ranking takes long, it waits until the keys rest for a while.
  const soon = () => {
    clearTimeout(timer);
    timer = setTimeout(rank, Math.min(restMs, 10 * tookMs));
  };
  const lookAll = async () => {
    for (const item of review.get().session.recordings) {
      const { id } = item.recording;
      if (watched.has(id)) continue;
      try {
        const seen = await lookThrough(analysis, review, item);
        if (stopped) return;
        if (seen) watched.set(id, { seen, rank: createRanking(seen, item), review: null, items: [] });
        else none.set(id, 'no lead runs at the rate of the marks');
      } catch (error) {
        if (stopped) return;
        none.set(id, 'the signal could not be analysed');
        onProblem(error, tryAgain);
      }
      if (none.has(id)) store.setState(s => ({ version: s.version + 1 }));
      rank();
    }
  };
  const tryAgain = () => {
    none.clear();
    void lookAll();
  };
  void Promise.resolve(stored).then(() => (stopped ? undefined : lookAll()));
  const unsubscribe = review.subscribe(soon);
  return {
    items: id => watched.get(id)?.items ?? nothing,
    itemsNow(id) {
      rank();
      return watched.get(id)?.items ?? nothing;
    },
    ready: id => watched.has(id),
    analysed: id => asDetected(watched.get(id)),
    whyNone: id => none.get(id) ?? null,
    getState: store.getState,
    subscribe: store.subscribe,
    stop() {
      stopped = true;
      clearTimeout(timer);
      unsubscribe();
      analysis.close();
    },
  };
}

const nothing: readonly QueueItem[] = [];

function asDetected(w: Watched | undefined) {
  return w ? { second: w.seen.detection.samples, suspected: listed(w.seen.table) } : null;
}

/** Where nothing is to be pointed out; `ready` says whether the page shows that as found out. */
export function noSuspicions(ready: boolean): Suspicions {
  const state = { version: 0 };
  return {
    items: () => nothing,
    itemsNow: () => nothing,
    ready: () => ready,
    getState: () => state,
    subscribe: () => () => undefined,
    stop: () => undefined,
  };
}

/** Looks through the leads that run at the recording's own rate; null when there is none. */
async function lookThrough(analysis: ReturnType<typeof openAnalysis>, review: ReviewStore, item: SessionRecording) {
  const { recording } = item;
  const first = ecgLeadOf(recording);
  if (recording.leads[first]?.samplingRateHz !== recording.samplingRateHz) return null;
  const session = review.get().session.id;
  const leads = leadsWith(first, recording.leads).map(lead => ({
    id: { session, recording: recording.id, lead },
    lead: recording.leads[lead]!,
  }));
  return analysis.start('lookThrough', { leads, gaps: recording.gaps, marks: item.detected }).done;
}

const known = new WeakMap<readonly QueueItem[], ReturnType<typeof suggestions>>();

/** Suggestions as the strip draws them, worked out once for each ranking. */
export function suggestionsOf(items: readonly QueueItem[]) {
  const found = known.get(items) ?? suggestions(items);
  known.set(items, found);
  return found;
}

function suggestions(items: readonly QueueItem[]): SuggestedMark[] {
  return items.flatMap(item => {
    // Of beats missing in a row all are drawn, because one key inserts them all.
    const taken = item.mark === null ? item.candidates : item.candidates.slice(0, 1);
    return taken.map((c): SuggestedMark => (c.kind === 'move' ? { kind: 'move', from: c.at, at: c.to } : c));
  });
}

type SuggestedMark =
  | Exclude<Candidate, { kind: 'move' }>
  | { readonly kind: 'move'; readonly from: SampleIndex; readonly at: SampleIndex };
