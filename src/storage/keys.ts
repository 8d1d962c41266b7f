/**
 * Keys of the document store. Array keys sort part by part, so everything of a session, or of one rater's log, is one
 * key range.
 */
export type Key = (string | number)[];

export const keyOf = {
  stamp: (): Key => ['store'],
  catalogue: (session: string): Key => ['catalogue', session],
  session: (session: string): Key => ['session', session],
  logHead: (session: string, rater: string): Key => ['log', session, rater],
  entry: (session: string, rater: string, seq: number): Key => ['entry', session, rater, seq],
  folded: (session: string, rater: string, firstSeq: number): Key => ['folded', session, rater, firstSeq],
};

/** Kinds whose second key part is a session id: what deleting a session removes. */
export const sessionKinds = ['catalogue', 'session', 'log', 'entry', 'folded', 'view', 'import'] as const;

/** Every key that starts with `parts`, itself included. An array sorts after all numbers and strings. */
export function under(...parts: Key): IDBKeyRange {
  return IDBKeyRange.bound(parts, [...parts, []]);
}
