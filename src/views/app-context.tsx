import { createContext, useContext, useSyncExternalStore } from 'react';
import type { App } from '../state/app';
import type { ReviewWorkspace } from '../state/review/workspace';

export const AppContext = createContext<App | null>(null);
export const WorkspaceContext = createContext<ReviewWorkspace | null>(null);

export function useApp(): App {
  const app = useContext(AppContext);
  if (!app) throw new Error('used outside the page');
  return app;
}

export function useWorkspace(): ReviewWorkspace {
  const workspace = useContext(WorkspaceContext);
  if (!workspace) throw new Error('used outside a review');
  return workspace;
}

interface Readable<T> {
  getState(): T;
  subscribe(listener: () => void): () => void;
}

/** A part of a store, re-rendering only when that part changes; the part must be a stored value, not a new object. */
export function usePart<T, P>(store: Readable<T>, part: (state: T) => P): P {
  return useSyncExternalStore(store.subscribe, () => part(store.getState()));
}
