import type { ReviewedSession } from '../core/review/session';

/**
 * Sessions as they were read last, in the place of those that are read again and found to be the same to the last sample:
 * what was worked out from them still holds.
 */
export class ReadAgain {
  private known = new Map<string, ReviewedSession>();

  /** Those not among `sessions` are forgotten. */
  same(sessions: readonly ReviewedSession[]): ReviewedSession[] {
    const found = sessions.map(session => {
      const before = this.known.get(session.session.id);
      return before && isSameData(before, session) ? before : session;
    });
    this.known = new Map(found.map(session => [session.session.id, session]));
    return found;
  }
}

/** Whether two values of plain data say the same: objects by their keys, lists and typed arrays place by place. */
export function isSameData(a: unknown, b: unknown): boolean {
  if (Object.is(a, b)) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  const kind = Object.getPrototypeOf(a);
  if (kind !== Object.getPrototypeOf(b)) return false;
  if (ArrayBuffer.isView(a)) return isSameList(a as unknown as ArrayLike<number>, b as ArrayLike<number>);
  if (Array.isArray(a))
    return a.length === (b as unknown[]).length && a.every((v, i) => isSameData(v, (b as unknown[])[i]));
  // What a map or a Blob holds is not in its keys: never taken for the same.
  if (kind !== Object.prototype && kind !== null) return false;
  const keys = Object.keys(a);
  if (keys.length !== Object.keys(b).length) return false;
  return keys.every(
    key =>
      Object.hasOwn(b, key) && isSameData((a as Record<string, unknown>)[key], (b as Record<string, unknown>)[key]),
  );
}

function isSameList(a: ArrayLike<number>, b: ArrayLike<number>): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (!Object.is(a[i], b[i])) return false;
  return true;
}
