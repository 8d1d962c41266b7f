import { createStore, type StoreApi } from 'zustand/vanilla';
import type { RecordingReview } from '../../core/marks/edit';
import {
  advance,
  append,
  type Draft,
  type EditLog,
  type LogEntry,
  type Replayed,
  redoDraft,
  replay,
  undoDraft,
} from '../../core/marks/log';
import { hasRated, isRating } from '../../core/review/raters/blind';
import { detectedOf, type Session } from '../../core/review/session';

/** Where entries are kept. Resolves when the entry is on disk; rejects with the reason when it is not. */
export type SaveEntry = (log: EditLog, entry: LogEntry) => Promise<void>;

export interface Access {
  readonly writable: boolean;
  /** Why not, in words for the page. */
  readonly why: string | null;
}

export interface Saving {
  /** Entries appended and not yet on disk. */
  readonly waiting: number;
  readonly failure: string | null;
}

/** One rater's open review. `log` and `replayed` move together; the log is the truth, the rest follows. */
export interface ReviewState {
  readonly session: Session;
  readonly log: EditLog;
  readonly replayed: Replayed;
  /** The other raters' logs of this session; nothing shows them before this rater has finished. */
  readonly others: readonly EditLog[];
  readonly access: Access;
  readonly saving: Saving;
  /** The last entry, for telling what just happened and where. */
  readonly last: LogEntry | null;
}

/** A new entry without its time. */
export type Act = Omit<Draft, 'at'>;

export interface ReviewStore {
  readonly get: () => ReviewState;
  readonly subscribe: (listener: (state: ReviewState, previous: ReviewState) => void) => () => void;
  readonly store: StoreApi<ReviewState>;
  /** Appends one entry, shows it at once and keeps it; false when the review takes no edits. */
  act(act: Act): boolean;
  undo(): boolean;
  redo(): boolean;
  setAccess(access: Access): void;
  setSession(session: Session): void;
  addOthers(logs: readonly EditLog[]): void;
  /** Tries again to keep what could not be kept. */
  retry(): void;
  /** Resolves when every entry so far is kept or has failed. */
  settled(): Promise<void>;
}

export interface ReviewStart {
  readonly session: Session;
  readonly log: EditLog;
  readonly others: readonly EditLog[];
  readonly access: Access;
  /** Appended before anything else, where the log is not begun yet. */
  readonly first?: readonly Draft[];
}

/**
 * The one loop: a command acts, the act becomes an entry, the entry is kept, and everything shown follows from the log.
 * Entries reach storage strictly in order: one that fails holds back those after it, so what is on disk is always an
 * unbroken chain.
 */
export function createReviewStore(
  { first = [], ...start }: ReviewStart,
  keep: SaveEntry,
  now: () => Date,
): ReviewStore {
  const detected = detectedOf(start.session);
  const store = createStore<ReviewState>(() => ({
    ...start,
    replayed: replay(start.log, detected),
    saving: { waiting: 0, failure: null },
    last: null,
  }));
  const saver = createSaver(store, keep);
  const push = (draft: Draft | null): boolean => {
    const { log, replayed, access } = store.getState();
    const blocked = replayed.finished && draft?.intent !== 'restart';
    if (!draft || !access.writable || blocked) return false;
    const next = append(log, draft);
    const after = advance(replayed, next.entry);
    // On its way to the disk before anything is drawn: what follows takes longer than handing it over.
    const saving = saver.add(next.log, next.entry);
    store.setState({ log: next.log, replayed: after, last: next.entry, saving });
    return true;
  };
  for (const draft of first) push(draft);
  const at = () => now().toISOString();
  return {
    get: store.getState,
    subscribe: store.subscribe,
    store,
    act: act => push({ at: at(), ...act }),
    undo: () => push(undoDraft(store.getState().log, store.getState().replayed, at())),
    redo: () => push(redoDraft(store.getState().log, store.getState().replayed, at())),
    setAccess: access => store.setState({ access }),
    setSession: session => store.setState({ session }),
    addOthers: others => store.setState({ others }),
    retry: saver.retry,
    settled: saver.settled,
  };
}

function createSaver(store: StoreApi<ReviewState>, keep: SaveEntry) {
  const queue: { readonly log: EditLog; readonly entry: LogEntry }[] = [];
  // Who only looks leaves no log behind: such entries wait here for the first that rates something.
  const held: { readonly log: EditLog; readonly entry: LogEntry }[] = [];
  const { log: stored } = store.getState();
  let begun = stored.header.role !== 'rater' || hasRated(stored);
  let running: Promise<void> = Promise.resolve();
  let busy = false;
  const saving = (failure: string | null) => ({ waiting: queue.length, failure });
  const report = (failure: string | null) => store.setState({ saving: saving(failure) });
  const run = async () => {
    busy = true;
    try {
      while (queue.length > 0) {
        const { log, entry } = queue[0]!;
        await keep(log, entry);
        queue.shift();
        report(null);
      }
    } catch (error) {
      report(error instanceof Error ? error.message : String(error));
    } finally {
      busy = false;
    }
  };
  const start = () => {
    if (!busy && queue.length > 0) running = run();
  };
  return {
    /** How saving stands with this entry waiting; its writing has begun unless others wait before it. */
    add(log: EditLog, entry: LogEntry) {
      begun ||= isRating(entry);
      if (begun) queue.push(...held.splice(0), { log, entry });
      else held.push({ log, entry });
      start();
      return saving(store.getState().saving.failure);
    },
    retry: start,
    settled: () => running,
  };
}

export function reviewOf(state: Pick<ReviewState, 'replayed'>, recordingId: string): RecordingReview {
  const review = state.replayed.recordings.get(recordingId);
  if (!review) throw new RangeError(`no such recording: ${recordingId}`);
  return review;
}
