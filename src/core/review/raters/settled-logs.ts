import type { LogReference } from '../../marks/facts';
import { type EditLog, type LogEntry, lastHash } from '../../marks/log';

/** The entry that brings in what both agree on. It is where settling starts, so undo must stop before it. */
export function isPassThrough(entry: LogEntry): boolean {
  return entry.fact?.kind === 'settledLogs';
}

/** The two logs that are being settled, as they were when settling began. */
export interface SettledLogs {
  readonly a: EditLog;
  readonly b: EditLog;
  /** One of them has grown since; what came later is left out. */
  readonly grown: boolean;
}

/** Which logs an adjudicated log settles, found among `logs`; null when it names none of these, or not as they are here. */
export function settledLogs(adjudicated: EditLog, logs: readonly EditLog[]): SettledLogs | null {
  const fact = adjudicated.entries.find(isPassThrough)?.fact;
  if (fact?.kind !== 'settledLogs') return null;
  const find = ({ rater, entries, hash }: LogReference): EditLog | null => {
    const log = logs.find(l => l.header.rater === rater && l.header.role !== 'adjudicator');
    const first = log && { header: log.header, entries: log.entries.slice(0, entries) };
    return first?.entries.length === entries && lastHash(first).startsWith(hash) ? first : null;
  };
  const [a, b] = [find(fact.a), find(fact.b)];
  const isGrown = (log: EditLog) => logs.some(l => l.header === log.header && l.entries.length > log.entries.length);
  return a && b ? { a, b, grown: isGrown(a) || isGrown(b) } : null;
}
