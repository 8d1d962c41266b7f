/**
 * Keys of the document store. Array keys sort part by part, so everything of a session, or of one rater's log, is one
 * key range.
 */
export type StorageKey = (string | number)[];

export const storageKey = {
  stamp: (): StorageKey => ['store'],
  catalogue: (session: string): StorageKey => ['catalogue', session],
  session: (session: string): StorageKey => ['session', session],
  logHead: (session: string, rater: string): StorageKey => ['log', session, rater],
  entry: (session: string, rater: string, seq: number): StorageKey => ['entry', session, rater, seq],
  folded: (session: string, rater: string, firstSeq: number): StorageKey => ['folded', session, rater, firstSeq],
};

/** Kinds whose second key part is a session id: what deleting a session removes. */
export const sessionKinds = ['catalogue', 'session', 'log', 'entry', 'folded', 'view', 'import'] as const;

/** Every key that starts with `parts`, itself included. An array sorts after all numbers and strings. */
export function under(...parts: StorageKey): IDBKeyRange {
  return IDBKeyRange.bound(parts, [...parts, []]);
}
