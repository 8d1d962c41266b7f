import { pairAgreement } from '../../core/review/raters/rater-progress';
import type { Session } from '../../core/review/session';
import { atOnce } from '../../remote/at-once';
import { type Assignment, assignmentSchema, readRecord } from '../../remote/records';
import type { RemoteStore } from '../../remote/remote-store';
import { readManifest } from '../../remote/session-parts';
import { type ChunkTexts, type CountedLog, holdsSignOff, readCountedLog } from '../../remote/stored-log';
import { chosenHead, type FoundRevision, readStudyRevision } from '../../remote/study';
import { type ListedFolders, type ListedLog, listStudy } from '../../remote/study-listing';
import type { Library } from '../library';
import { type BoardLine, blindLog, type LogSummary, logSummary, nothingStored } from './board-line';
import type { SignedIn } from './lab-store';
import { asFirstTime, originalOf, repeatOf } from './repeats';

/** What the board needs to know of the sessions that this browser keeps. */
export type KeptSessions = Pick<Library, 'sessions' | 'session'>;

/** One assignment, and what was found when its log was last read. */
interface Known {
  /** Of the assignment. */
  readonly path: string;
  readonly rater: string;
  readonly assignment: Assignment;
  /** Changes when the log may have changed, another branch of it counts, or the session has come into this browser. */
  readonly state: string;
  readonly listed: ListedLog;
  readonly summary: LogSummary;
}

interface KnownLine {
  /** Of the log, of the one it is compared with, and whether it is for calibration. */
  readonly state: string;
  readonly line: BoardLine;
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
  readonly lines: Map<string, KnownLine>;
  /** The lines in the order in which they were shown last, and what they are of. */
  shown: { readonly of: readonly KnownLine[]; readonly lines: readonly BoardLine[] };
}

export const newBoardMemory = (): BoardMemory => ({
  revision: null,
  folders: new Map(),
  assignments: new Map(),
  titles: new Map(),
  sessions: new Map(),
  known: new Map(),
  texts: new Map(),
  lines: new Map(),
  shown: { of: [], lines: [] },
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
  const changed = listing.assignments.filter(a => !reading.stands(a.path, listing.logOf(a.rater, a.session)));
  let done = listing.assignments.length - changed.length;
  await atOnce(changed, async ({ rater, session, path }) => {
    await reading.read(rater, path, listing.logOf(rater, session));
    onProgress(++done, listing.assignments.length);
  });
  const known = listing.assignments.flatMap(a => memory.known.get(a.path) ?? []);
  const rated = ratersOf(known);
  const other = (own: Known) => {
    const first = originalOf(memory.revision?.revision, own.assignment.session);
    if (first !== null) return rated.get(first)?.find(k => k.rater === own.rater) ?? null;
    return rated.get(own.assignment.session)?.find(k => k.rater !== own.rater) ?? null;
  };
  const moved = known.filter(k => !reading.lineStands(k, other(k)));
  await atOnce(moved, k => reading.makeLine(k, other(k)));
  return inOrder(
    known.map(k => memory.lines.get(k.path)!),
    memory,
  );
}

/** Sorted again only where a line is new or another: a large study has tens of thousands. */
function inOrder(of: readonly KnownLine[], memory: BoardMemory): readonly BoardLine[] {
  const before = memory.shown.of;
  if (of.length !== before.length || of.some((line, i) => line !== before[i])) {
    memory.shown = { of, lines: of.map(k => k.line).sort(byPlace) };
  }
  return memory.shown.lines;
}

/** By session, who rates it; whoever has the first place comes first. */
function ratersOf(known: readonly Known[]): ReadonlyMap<string, readonly Known[]> {
  const found = new Map<string, Known[]>();
  for (const k of known) {
    const { session, place } = k.assignment;
    if (place === 'settles') continue;
    const own = found.get(session) ?? [];
    if (place === 'first') own.unshift(k);
    else own.push(k);
    found.set(session, own);
  }
  return found;
}

function byPlace(a: BoardLine, b: BoardLine): number {
  if (a.session !== b.session) return a.session < b.session ? -1 : 1;
  if (a.place !== b.place) return a.place < b.place ? -1 : 1;
  return a.rater < b.rater ? -1 : 1;
}

class Reading {
  constructor(
    private readonly remote: RemoteStore,
    private readonly memory: BoardMemory,
    private readonly library: KeptSessions,
    /** Sessions that this browser keeps. */
    private readonly here: ReadonlySet<string>,
  ) {}

  /** Whether nothing was added to a log since it was read. */
  stands(path: string, listed: ListedLog): boolean {
    const before = this.memory.known.get(path);
    if (!before || listed.tag === null) return false;
    const { session } = before.assignment;
    return before.state === this.stateOf(before.rater, session, listed, this.isHere(session));
  }

  async read(rater: string, path: string, listed: ListedLog): Promise<void> {
    const assignment = await this.assignment(path);
    if (!assignment) return;
    const stored = await this.stored(rater, assignment.session, listed);
    const session = await this.session(assignment.session);
    const summary = stored ? logSummary(stored, session) : nothingStored;
    this.memory.known.set(path, {
      path,
      rater,
      assignment,
      state: this.stateOf(rater, assignment.session, listed, session !== null),
      listed,
      summary,
    });
  }

  lineStands(own: Known, other: Known | null): boolean {
    const tagged = own.listed.tag !== null && other?.listed.tag !== null;
    return tagged && this.memory.lines.get(own.path)?.state === this.lineState(own, other);
  }

  async makeLine(own: Known, other: Known | null): Promise<void> {
    const { session, place, due } = own.assignment;
    const repeats = this.original(session);
    const title =
      repeats === null ? await this.title(own.assignment) : `${(await this.session(repeats))?.title ?? repeats}, again`;
    const agreement = await this.agreement(own, other);
    const calibration = this.isCalibration(own);
    const line = { rater: own.rater, session, title, place, due, calibration, repeats, ...own.summary, agreement };
    this.memory.lines.set(own.path, { state: this.lineState(own, other), line });
  }

  private lineState(own: Known, other: Known | null): string {
    return `${own.state} ${other?.rater} ${other?.state} ${this.isCalibration(own)}`;
  }

  private isCalibration({ assignment }: Known): boolean {
    return this.memory.revision?.revision.calibration?.includes(assignment.session) === true;
  }

  private async assignment(path: string): Promise<Assignment | null> {
    const { assignments } = this.memory;
    const assignment = assignments.get(path) ?? (await readRecord(this.remote, assignmentSchema, path));
    if (assignment) assignments.set(path, assignment);
    return assignment;
  }

  private stateOf(rater: string, session: string, { tag }: ListedLog, isHere: boolean): string {
    const chosen = chosenHead(this.memory.revision?.revision, rater, session);
    return `${tag} ${isHere ? 'kept' : 'not kept'}${chosen === null ? '' : ` ${chosen}`}`;
  }

  private async stored(rater: string, session: string, listed: ListedLog): Promise<CountedLog | null> {
    if (!listed.log && !listed.after && !listed.signOff) return null;
    const { texts } = this.memory;
    const key = `${rater}/${session}`;
    const own: ChunkTexts = texts.get(key) ?? new Map();
    if (listed.signOff) texts.delete(key);
    else texts.set(key, own);
    return readCountedLog(this.remote, this.memory.revision?.revision, rater, session, own, listed);
  }

  private original(session: string): string | null {
    return originalOf(this.memory.revision?.revision, session);
  }

  /** A copy is here where what it is a copy of is. */
  private isHere(id: string): boolean {
    return this.here.has(this.original(id) ?? id);
  }

  private async session(id: string): Promise<Session | null> {
    const { sessions } = this.memory;
    if (!this.isHere(id)) {
      sessions.delete(id);
      return null;
    }
    const session = sessions.get(id) ?? (await this.kept(id));
    if (session) sessions.set(id, session);
    return session;
  }

  private async kept(id: string): Promise<Session | null> {
    const first = this.original(id);
    if (first === null) return this.library.session(id);
    const session = await this.library.session(first);
    return session && repeatOf(session, id);
  }

  private async title({ session, manifest }: Assignment): Promise<string> {
    const { titles } = this.memory;
    const known = titles.get(session);
    if (known !== undefined) return known;
    const { title } = await readManifest(this.remote, session, manifest);
    titles.set(session, title);
    return title;
  }

  private async agreement(own: Known, other: Known | null): Promise<BoardLine['agreement']> {
    if (!other || own.assignment.place === 'settles' || !hasSignedOff(own) || !hasSignedOff(other)) return null;
    return this.compared(own, other);
  }

  private async compared(own: Known, other: Known): Promise<BoardLine['agreement']> {
    // A copy is compared as the session that it is a copy of.
    const session = await this.session(other.assignment.session);
    if (!session) return null;
    const revision = this.memory.revision?.revision;
    const [a, b] = await atOnce([own, other], async ({ rater, assignment, listed }) =>
      blindLog(await readCountedLog(this.remote, revision, rater, assignment.session, new Map(), listed)),
    );
    if (!a || !b) return null;
    return pairAgreement(session, a.header.session === session.id ? a : asFirstTime(a, session), b);
  }
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
  const study = await readStudyRevision(remote);
  let taken = 0;
  for (const { rater, session, branches, signedOffAt, signedOffEntries, repeats } of lines) {
    if (repeats !== null || branches.length !== 1 || signedOffAt === null || signedOffEntries === 0) continue;
    const stored = await readCountedLog(remote, study?.revision, rater, session);
    if (!holdsSignOff(stored)) continue;
    const added = await library.addLog(stored.branches[0]!);
    if (added === 'added' || added === 'extended') taken++;
  }
  return taken;
}
