import { utf8ToBytes } from '@noble/hashes/utils.js';
import { type EditLog, sha256Hex } from '../../core/marks/log';
import type { Handling } from '../../core/review/privacy/identifying';
import { type HandedSession, handedSessions, underOwnNames } from '../../core/review/privacy/leaving-handover';
import type { Session } from '../../core/review/session';
import type { StudyRevision } from '../../remote/records';

/**
 * A session that a rater has reviewed is given to them once more under another name: how far the two reviews agree shows
 * how steady the rater is. The copy follows from the session and its own id, so that only the id is kept.
 */

/** Nothing that tells the session at once; the recording itself may still be known again. */
const handling: Handling = { dates: 'drop', sources: 'drop', codes: 'drop', names: 'keep', remarks: 'keep' };
const tagLength = 8;

/** `at`: when it is given, which makes each copy another one. */
export function newRepeat(session: Session, at: string): HandedSession {
  return repeatUnder(session, sha256Hex(utf8ToBytes(`${session.id}\n${at}`)).slice(0, tagLength));
}

function repeatUnder(session: Session, tag: string): HandedSession {
  return handedSessions([session], handling, tag).get(session.id)!;
}

/** The copy of a session by the id that it was given. */
export function repeatOf(session: Session, copyId: string): Session {
  return repeatUnder(session, copyId.slice(0, tagLength)).session;
}

/** A review of the copy as one of the session itself. */
export function asFirstTime(log: EditLog, session: Session): EditLog {
  return underOwnNames(log, session, repeatUnder(session, log.header.session.slice(0, tagLength)).names);
}

/** Which session is given again under this id; null for one that is given as it is. */
export function originalOf(revision: StudyRevision | null | undefined, session: string): string | null {
  return revision?.repeats?.find(r => r.session === session)?.of ?? null;
}
