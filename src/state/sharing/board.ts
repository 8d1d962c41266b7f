import { pairAgreement } from '../../core/review/rater-progress';
import type { Session } from '../../core/review/session';
import { atOnce } from '../../remote/at-once';
import { type Assignment, assignmentSchema, readRecord } from '../../remote/records';
import type { RemoteStore } from '../../remote/remote-store';
import { readManifest } from '../../remote/session-parts';
import { type ChunkTexts, readStoredLog, type StoredLog } from '../../remote/stored-log';
import { type FoundRevision, readStudyRevision } from '../../remote/study';
import { type ListedFolders, type ListedLog, listStudy } from '../../remote/study-listing';
import type { Library } from '../library';
import { type BoardLine, blindLog, type LogSummary, logSummary, nothingStored } from './board-line';
import type { SignedIn } from './lab-store';

/** What the board needs to know of the sessions that this browser keeps. */
export type KeptSessions = Pick<Library, 'sessions' | 'session'>;

/** One assignment, and what was found when its log was last read. */
interface Known {
  readonly rater: string;
  readonly assignment: Assignment;
  /** Changes when the log may have changed, or the session has come into this browser. */
  readonly state: string;
  readonly listed: ListedLog;
  readonly summary: LogSummary;
}

interface KnownAgreement {
  readonly state: string;
  readonly agreement: BoardLine['agreement'];
}

/** What is kept between two looks at the store: only what has changed since is read. */
export interface BoardMemory {
  revision: FoundRevision | null;
  readonly folders: ListedFolders;
  readonly assignments: Map<string, Assignment>;
  readonly titles: Map<string, string>;
  readonly sessions: Map<string, Session>;
  readonly known: Map<string, Known>;
  /** Of logs under way; those signed off hardly change. */
  readonly texts: Map<string, ChunkTexts>;
  readonly agreements: Map<string, KnownAgreement>;
}

export const newBoardMemory = (): BoardMemory => ({
  revision: null,
  folders: new Map(),
  assignments: new Map(),
  titles: new Map(),
  sessions: new Map(),
  known: new Map(),
  texts: new Map(),
  agreements: new Map(),
});

/**
 * The board as it is now. What stands as it was costs no request of its own; `onProgress` tells how many of the lines are
 * done, for the first look at a large study.
 */
export async function readBoard(
  library: KeptSessions,
  { remote }: Pick<SignedIn, 'remote'>,
  memory: BoardMemory,
  onProgress: (done: number, total: number) => void = () => undefined,
): Promise<readonly BoardLine[]> {
  const reading = new Reading(remote, memory, library, new Set((await library.sessions()).map(s => s.id)));
  memory.revision = await readStudyRevision(remote, memory.revision);
  const listing = await listStudy(remote, memory.folders);
  let done = 0;
  const known = await atOnce(listing.assignments, async ({ rater, session, path }) => {
    const found = await reading.line(rater, path, listing.logOf(rater, session));
    onProgress(++done, listing.assignments.length);
    return found;
  });
  const there = known.filter(k => k !== null);
  const bySession = new Map<string, Known[]>();
  for (const k of there) bySession.set(k.assignment.session, [...(bySession.get(k.assignment.session) ?? []), k]);
  const lines = await atOnce(there, async k => reading.boardLine(k, bySession.get(k.assignment.session)!));
  return lines.sort((a, b) => (a.session + a.place + a.rater < b.session + b.place + b.rater ? -1 : 1));
}

class Reading {
  constructor(
    private readonly remote: RemoteStore,
    private readonly memory: BoardMemory,
    private readonly library: KeptSessions,
    /** Sessions that this browser keeps. */
    private readonly here: ReadonlySet<string>,
  ) {}

  async line(rater: string, path: string, listed: ListedLog): Promise<Known | null> {
    const { known } = this.memory;
    const before = known.get(path);
    const isHere = before !== undefined && this.here.has(before.assignment.session);
    if (before && listed.tag !== null && before.state === stateOf(listed, isHere)) return before;
    const assignment = await this.#assignment(path);
    if (!assignment) return null;
    const stored = await this.#stored(rater, assignment.session, listed);
    const session = await this.#session(assignment.session);
    const summary = stored ? logSummary(stored, session) : nothingStored;
    const found = { rater, assignment, state: stateOf(listed, session !== null), listed, summary };
    known.set(path, found);
    return found;
  }

  async boardLine(own: Known, ofSession: readonly Known[]): Promise<BoardLine> {
    const { session, place, due } = own.assignment;
    const title = await this.#title(own.assignment);
    const agreement = await this.#agreement(own, ofSession);
    const calibration = this.memory.revision?.revision.calibration?.includes(session) === true;
    return { rater: own.rater, session, title, place, due, calibration, ...own.summary, agreement };
  }

  async #assignment(path: string): Promise<Assignment | null> {
    const { assignments } = this.memory;
    const assignment = assignments.get(path) ?? (await readRecord(this.remote, assignmentSchema, path));
    if (assignment) assignments.set(path, assignment);
    return assignment;
  }

  async #stored(rater: string, session: string, listed: ListedLog): Promise<StoredLog | null> {
    if (!listed.log && !listed.after && !listed.signOff) return null;
    const { texts } = this.memory;
    const key = `${rater}/${session}`;
    const own: ChunkTexts = texts.get(key) ?? new Map();
    if (listed.signOff) texts.delete(key);
    else texts.set(key, own);
    return readStoredLog(this.remote, rater, session, own, listed);
  }

  async #session(id: string): Promise<Session | null> {
    const { sessions } = this.memory;
    if (!this.here.has(id)) {
      sessions.delete(id);
      return null;
    }
    const session = sessions.get(id) ?? (await this.library.session(id));
    if (session) sessions.set(id, session);
    return session;
  }

  async #title({ session, manifest }: Assignment): Promise<string> {
    const { titles } = this.memory;
    const known = titles.get(session);
    if (known !== undefined) return known;
    const { title } = await readManifest(this.remote, session, manifest);
    titles.set(session, title);
    return title;
  }

  async #agreement(own: Known, ofSession: readonly Known[]): Promise<BoardLine['agreement']> {
    const others = ofSession.filter(k => k.rater !== own.rater && k.assignment.place !== 'settles');
    const other = others.find(k => k.assignment.place === 'first') ?? others[0];
    if (!other || own.assignment.place === 'settles' || !hasSignedOff(own) || !hasSignedOff(other)) return null;
    const { agreements } = this.memory;
    const key = `${own.rater}/${own.assignment.session}`;
    const state = `${own.state} ${other.state}`;
    const before = agreements.get(key);
    const stands = own.listed.tag !== null && other.listed.tag !== null;
    if (stands && before?.state === state) return before.agreement;
    const agreement = await this.#compared(own, other);
    agreements.set(key, { state, agreement });
    return agreement;
  }

  async #compared(own: Known, other: Known): Promise<BoardLine['agreement']> {
    const id = own.assignment.session;
    const session = await this.#session(id);
    if (!session) return null;
    const [a, b] = await atOnce([own, other], async k =>
      blindLog(await readStoredLog(this.remote, k.rater, id, new Map(), k.listed)),
    );
    return a && b ? pairAgreement(session, a, b) : null;
  }
}

function stateOf({ tag }: ListedLog, isHere: boolean): string {
  return `${tag} ${isHere ? 'kept' : 'not kept'}`;
}

function hasSignedOff({ summary }: Known): boolean {
  return summary.branches.length === 1 && summary.signedOffAt !== null && summary.signedOffEntries !== 0;
}

/** Brings the signed-off logs into this browser, where they are compared, settled and reported like any others. */
export async function takeSignedOff(
  library: Pick<Library, 'addLog'>,
  { remote }: Pick<SignedIn, 'remote'>,
  lines: readonly BoardLine[],
): Promise<number> {
  let taken = 0;
  for (const { rater, session, branches, signedOffAt, signedOffEntries } of lines) {
    if (branches.length !== 1 || signedOffAt === null || signedOffEntries === 0) continue;
    const [log] = (await readStoredLog(remote, rater, session)).branches;
    const added = log && (await library.addLog(log));
    if (added === 'added' || added === 'extended') taken++;
  }
  return taken;
}
