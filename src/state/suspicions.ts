import { createStore } from 'zustand/vanilla';
import type { SampleIndex } from '../core/units';
import type { ReviewStore } from './review-store';
import type { Signals } from './signals';

export type Candidate =
  | { readonly kind: 'insert' | 'delete'; readonly at: SampleIndex }
  | { readonly kind: 'move'; readonly at: SampleIndex; readonly to: SampleIndex };

/** One place of the review queue. */
export interface QueueItem {
  readonly at: SampleIndex;
  readonly reason: string;
  readonly sentence: string;
  readonly score: number;
  readonly candidates: readonly Candidate[];
}

export interface Suspicions {
  /** Ranked, most suspicious first; empty until the recording has been looked through. */
  items(recordingId: string): readonly QueueItem[];
  ready(recordingId: string): boolean;
  getState(): { readonly version: number };
  subscribe(listener: () => void): () => void;
  stop(): void;
}

export function createSuspicions(_review: ReviewStore, _signals: Signals): Suspicions {
  const store = createStore(() => ({ version: 0 }));
  return {
    items: () => [],
    ready: () => false,
    getState: store.getState,
    subscribe: store.subscribe,
    stop: () => undefined,
  };
}

/** Suggestions as the strip draws them. */
export function ghostsOf(items: readonly QueueItem[]) {
  return items.flatMap(item =>
    item.candidates
      .slice(0, 1)
      .map(c => (c.kind === 'move' ? { kind: 'move' as const, from: c.at, at: c.to } : { kind: c.kind, at: c.at })),
  );
}
