import { isSamePerson } from '../../core/review/raters/compare';
import type { HasLibrary } from '../library';
import { type BlindSession, blindSessions } from '../review/unblinding';
import type { BoardLine } from './board-line';

/**
 * Agreement of two reviews tells of both. On the board it stays hidden for sessions that whoever looks may still rate, until
 * they ask for it; that is kept, as it is wherever else others' reviews are shown.
 */

/** Sessions of which the board would show agreement, though this rater has not signed off a review of them. */
export async function hiddenSessions(
  { library }: HasLibrary,
  lines: readonly BoardLine[],
  rater: string,
): Promise<readonly BlindSession[]> {
  const compared = lines.filter(line => line.agreement !== null);
  const own = lines.filter(line => line.rater === rater && line.place !== 'settles');
  const isSignedOff = (id: string) => own.some(line => line.session === id && line.signedOffAt !== null);
  const ids = comparedSessions(lines).filter(id => !isSignedOff(id));
  const ratersOf = (id: string) => compared.filter(line => ratedSession(line) === id).map(line => line.rater);
  const found = await blindSessions(library, ids, rater, ratersOf);
  // A review that is under way on another machine is known from the store alone; `r1` and `R1` are one person.
  const isUnderWay = (line: BoardLine) => line.branches.length > 0 && line.signedOffAt === null;
  const begun = lines.filter(line => isSamePerson(line.rater, rater) && line.place !== 'settles' && isUnderWay(line));
  const isBegun = (id: string) => begun.some(line => line.session === id);
  return found.map(session => ({ ...session, begun: session.begun || isBegun(session.id) }));
}

/** The lines without the agreement of the sessions named. */
export function withoutAgreement(lines: readonly BoardLine[], hidden: ReadonlySet<string>): readonly BoardLine[] {
  return lines.map(line => (line.agreement && isHidden(line, hidden) ? { ...line, agreement: null } : line));
}

/** Whether a line is of one of the sessions named, or of a copy of one. */
export function isHidden(line: BoardLine, hidden: ReadonlySet<string>): boolean {
  return hidden.has(ratedSession(line));
}

/** Sessions whose agreement the lines show. */
export function comparedSessions(lines: readonly BoardLine[]): readonly string[] {
  return [...new Set(lines.filter(line => line.agreement !== null).map(ratedSession))];
}

/** A session that is given once more is that session all the same. */
const ratedSession = (line: BoardLine) => line.repeats ?? line.session;
