import { type EditLog, type Intent, verifyChain } from '../marks/log';
import { sourceLabel } from '../review/standing/sources';
import type { ReplayedSession } from './counted-review';

/** What one log consists of. */
export interface ActsRow {
  readonly session: string;
  readonly volunteer: string;
  readonly rater: string;
  readonly role: EditLog['header']['role'];
  /** As shown beside a score, e.g. 'R1, not finished'. */
  readonly source: string;
  readonly finished: boolean;
  readonly entries: number;
  /** Entries by what the rater meant; those taken back are counted under 'undone' too. */
  readonly byIntent: Readonly<Partial<Record<Intent, number>>>;
  readonly undone: number;
  readonly reopened: number;
  readonly comments: number;
  readonly flags: number;
  readonly otherTraceUsed: number;
  readonly firstAt: string | null;
  readonly lastAt: string | null;
}

export interface AuditRow extends ActsRow {
  /** Null when the chain of hashes holds. */
  readonly chainProblem: string | null;
  readonly lastHash: string | null;
}

export function auditTable(sessions: readonly ReplayedSession[]): AuditRow[] {
  const acts = actsTable(sessions);
  const logs = sessions.flatMap(s => s.logs);
  return logs.map(({ log }, i) => {
    const chain = verifyChain(log);
    return { ...acts[i]!, chainProblem: chain.ok ? null : chain.why, lastHash: log.entries.at(-1)?.hash ?? null };
  });
}

/** All but the chain of hashes, which takes much longer. */
export function actsTable(sessions: readonly ReplayedSession[]): ActsRow[] {
  return sessions.flatMap(({ session, logs }) =>
    logs.map(({ log, replayed }): ActsRow => {
      const notes = [...replayed.recordings.values()].flatMap(r => r.notes);
      const { rater, role } = log.header;
      return {
        session: session.id,
        volunteer: session.participant,
        rater,
        role,
        source: sourceLabel(log, replayed.finished),
        finished: replayed.finished,
        entries: log.entries.length,
        byIntent: intentCounts(log),
        undone: undoneCount(log),
        reopened: log.entries.filter(e => e.intent === 'reopen' || e.intent === 'restart').length,
        comments: notes.filter(n => n.kind !== 'flag').length,
        flags: notes.filter(n => n.kind === 'flag').length,
        otherTraceUsed: notes.filter(n => n.kind === 'evidence').length,
        firstAt: log.entries[0]?.at ?? null,
        lastAt: log.entries.at(-1)?.at ?? null,
      };
    }),
  );
}

/** Undoing and doing again are no new intent. */
function intentCounts({ entries }: EditLog): Partial<Record<Intent, number>> {
  const counts: Partial<Record<Intent, number>> = {};
  for (const e of entries) {
    if (e.undoes === undefined && e.redoes === undefined) counts[e.intent] = (counts[e.intent] ?? 0) + 1;
  }
  return counts;
}

function undoneCount({ entries }: EditLog): number {
  const undone = new Set<number>();
  for (const e of entries) {
    if (e.undoes !== undefined) undone.add(e.undoes);
    if (e.redoes !== undefined) undone.delete(e.redoes);
  }
  return undone.size;
}
