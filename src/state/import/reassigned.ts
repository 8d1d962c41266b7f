import type { EditLog } from '../../core/marks/log';
import { codesBefore, isCopyOfReassigned } from '../../core/review/raters/reassign';
import { lockSession } from '../../storage/locks';
import type { Library } from '../library';

/** Incoming logs, and in words what became of those that are known here under another code. */
export interface SortedLogs {
  readonly taken: readonly EditLog[];
  readonly remarks: string[];
}

/** Leaves out copies from before a review was reassigned: the review is here, or comes along, under its new code. */
export async function withoutOldCopies(
  library: Library,
  session: string,
  logs: readonly EditLog[],
): Promise<SortedLogs> {
  const stored = await library.raters(session);
  const fresh = logs.filter(l => !stored.includes(l.header.rater));
  if (fresh.length === 0) return { taken: logs, remarks: [] };
  const here = (await Promise.all(stored.map(rater => library.log(session, rater)))).flatMap(l => l ?? []);
  const moved = [...here, ...logs].filter(l => codesBefore(l).length > 0);
  const under = new Map(fresh.map(l => [l, moved.find(m => isCopyOfReassigned(l, m))] as const));
  const taken = logs.filter(l => !under.get(l));
  const remarks = [...under].flatMap(([l, m]) =>
    m
      ? [`The review of ${l.header.rater} was reassigned to ${m.header.rater} meanwhile; its old copy was left out.`]
      : [],
  );
  return { taken, remarks };
}

/** A review that comes under its new code takes the place of its old copy here, unless that went on. */
export async function withoutStoredCopies(library: Library, logs: readonly EditLog[]): Promise<readonly string[]> {
  const remarks: string[] = [];
  for (const log of logs) {
    for (const code of codesBefore(log)) {
      const { session, rater } = log.header;
      const old = await library.log(session, code);
      if (!old || !isCopyOfReassigned(old, log)) continue;
      const lock = await lockSession(session, code);
      if (lock.held) await library.removeLog(old);
      lock.release();
      remarks.push(
        lock.held
          ? `The review of ${code} was reassigned to ${rater}.`
          : `The review of ${code} was reassigned to ${rater}; its old copy is open and was left as it is.`,
      );
    }
  }
  return remarks;
}
