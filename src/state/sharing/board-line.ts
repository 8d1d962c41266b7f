import type { EditLog } from '../../core/marks/log';
import {
  firstEntries,
  type PairAgreement,
  type RaterProgress,
  raterProgress,
} from '../../core/review/raters/rater-progress';
import type { Session } from '../../core/review/session';
import type { Assignment } from '../../remote/records';
import { type CountedLog, holdsSignOff, type StoredLog } from '../../remote/stored-log';

/** Where a branch of a stored log ends. */
export interface BranchEnd {
  readonly entries: number;
  /** Hash of the last entry. */
  readonly head: string;
  /** Time of the last entry, ISO 8601. */
  readonly at: string;
}

/** One line of the board: one rater and one session. */
export interface BoardLine {
  readonly rater: string;
  readonly session: string;
  readonly title: string;
  readonly place: Assignment['place'];
  readonly due: string | null;
  /** Given to everybody; agreement is with the reference rater, who has the first place. */
  readonly calibration: boolean;
  /** The session that this one is a copy of; agreement is with the rater's own review of it. Null for any other. */
  readonly repeats: string | null;
  /** Null while nothing is stored, for a forked log, and for a session that this browser does not keep. */
  readonly progress: RaterProgress | null;
  readonly signedOffAt: string | null;
  /** Entries signed off; 0 shows that the others' logs were opened without work of one's own. */
  readonly signedOffEntries: number | null;
  /** Entries made after signing off. */
  readonly later: number;
  /** Longest first. More than one: the log is forked, and it is not chosen yet which of them counts. */
  readonly branches: readonly BranchEnd[];
  /** Those that were not chosen. */
  readonly passedOver: readonly BranchEnd[];
  readonly problems: readonly string[];
  /** With the other rater of the session, of what both signed off; null before that. */
  readonly agreement: PairAgreement | null;
}

/** What a line says of the log alone. */
export type LogSummary = Pick<
  BoardLine,
  'progress' | 'signedOffAt' | 'signedOffEntries' | 'later' | 'branches' | 'passedOver' | 'problems'
>;

export const nothingStored: LogSummary = {
  progress: null,
  signedOffAt: null,
  signedOffEntries: null,
  later: 0,
  branches: [],
  passedOver: [],
  problems: [],
};

export function logSummary(stored: CountedLog, session: Session | null): LogSummary {
  const { branches, passedOver, signOff, problems } = stored;
  const log = branches.length === 1 ? branches[0]! : null;
  return {
    progress: log && session ? raterProgress(session, log) : null,
    signedOffAt: signOff?.at ?? null,
    signedOffEntries: signOff?.count ?? null,
    later: log && signOff ? Math.max(0, log.entries.length - signOff.count) : 0,
    branches: branches.map(branchEnd),
    passedOver: passedOver.map(branchEnd),
    problems:
      log && signOff && signOff.count > 0 && !holdsSignOff(stored)
        ? [...problems, 'what was signed off is not on the branch that counts']
        : problems,
  };
}

function branchEnd({ entries }: EditLog): BranchEnd {
  const last = entries.at(-1)!;
  return { entries: entries.length, head: last.hash, at: last.at };
}

/** What was signed off, and nothing of what came later; null before that, and for an empty or forked log. */
export function blindLog(stored: StoredLog): EditLog | null {
  return holdsSignOff(stored) ? firstEntries(stored.branches[0]!, stored.signOff!.count) : null;
}

/** What a supervisor is to look into. */
export function needsSupervisor(line: BoardLine): boolean {
  return line.branches.length > 1 || line.problems.length > 0 || line.signedOffEntries === 0;
}

/** Whether it is not signed off although its day has passed; `today` is YYYY-MM-DD. */
export function isOverdue(line: BoardLine, today: string): boolean {
  return line.due !== null && line.signedOffAt === null && line.due < today;
}
