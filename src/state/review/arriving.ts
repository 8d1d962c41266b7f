import type { StoredLeads } from './signals';

/** Signals that are not stored here yet and can be read from elsewhere meanwhile, by session. */
export interface ArrivingSignals {
  /** `leads` by recording. */
  begin(session: string, leads: ReadonlyMap<string, StoredLeads>): void;
  /** All of it is stored: nothing is read from elsewhere any more. */
  stored(session: string): void;
  leads(session: string): ReadonlyMap<string, StoredLeads> | null;
  /** Calls back once all of it is stored; returns what stops that. */
  whenStored(session: string, listener: () => void): () => void;
}

export function createArriving(): ArrivingSignals {
  const arriving = new Map<string, ReadonlyMap<string, StoredLeads>>();
  const listeners = new Map<string, Set<() => void>>();
  return {
    begin: (session, leads) => void arriving.set(session, leads),
    stored(session) {
      arriving.delete(session);
      const waiting = listeners.get(session) ?? [];
      listeners.delete(session);
      for (const listener of waiting) listener();
    },
    leads: session => arriving.get(session) ?? null,
    whenStored(session, listener) {
      const waiting = listeners.get(session) ?? new Set();
      listeners.set(session, waiting.add(listener));
      return () => void waiting.delete(listener);
    },
  };
}
