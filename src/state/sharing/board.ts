import type { EditLog } from '../../core/marks/log';
import {
  firstEntries,
  type PairAgreement,
  pairAgreement,
  type RaterProgress,
  raterProgress,
} from '../../core/review/rater-progress';
import type { Session } from '../../core/review/session';
import { type Assignment, assignmentSchema, readRecord } from '../../remote/records';
import { readManifest } from '../../remote/session-parts';
import { type ChunkTexts, readStoredLog, type StoredLog } from '../../remote/stored-log';
import type { Library } from '../library';
import type { SignedIn } from './lab-store';

/** One line of the board: one rater and one session. */
export interface BoardLine {
  readonly rater: string;
  readonly session: string;
  readonly title: string;
  readonly place: Assignment['place'];
  readonly due: string | null;
  /** Null while nothing is stored. */
  readonly progress: RaterProgress | null;
  readonly signedOffAt: string | null;
  /** Entries signed off; 0 shows that the others' logs were opened without work of one's own. */
  readonly signedOffEntries: number | null;
  /** Entries made after signing off. */
  readonly later: number;
  readonly branches: readonly EditLog[];
  readonly problems: readonly string[];
  /** With the other rater of the session, of what both signed off; null before that. */
  readonly agreement: PairAgreement | null;
}

/** What is kept between two looks at the store: files never change, so that only new ones are read. */
export interface BoardMemory {
  readonly texts: ChunkTexts;
  readonly assignments: Map<string, Assignment>;
  readonly sessions: Map<string, Session | null>;
  readonly titles: Map<string, string>;
}

export const newBoardMemory = (): BoardMemory => ({
  texts: new Map(),
  assignments: new Map(),
  sessions: new Map(),
  titles: new Map(),
});

interface Found {
  readonly assignment: Assignment;
  readonly rater: string;
  readonly stored: StoredLog;
  readonly session: Session | null;
}

/** The board as it is now. */
export async function readBoard(
  library: Library,
  { remote }: SignedIn,
  memory: BoardMemory,
): Promise<readonly BoardLine[]> {
  const found: Found[] = [];
  for (const [folder, rater] of await peopleOf(remote)) {
    for (const { name } of (await remote.list(`${folder}/${rater}/`)) ?? []) {
      const path = `${folder}/${rater}/${name}`;
      const assignment = memory.assignments.get(path) ?? (await readRecord(remote, assignmentSchema, path));
      if (!assignment) continue;
      memory.assignments.set(path, assignment);
      const stored = await readStoredLog(remote, rater, assignment.session, memory.texts);
      found.push({ assignment, rater, stored, session: await sessionOf(library, memory, assignment.session) });
      await titleOf(remote, memory, assignment);
    }
  }
  return found
    .map(one => boardLine(one, found, memory.titles.get(one.assignment.session) ?? one.assignment.session))
    .sort((a, b) => (a.session + a.place < b.session + b.place ? -1 : 1));
}

async function peopleOf(remote: SignedIn['remote']): Promise<readonly (readonly [string, string])[]> {
  const people: [string, string][] = [];
  for (const folder of ['assign', 'settle']) {
    for (const { name } of (await remote.list(`${folder}/`)) ?? []) people.push([folder, name]);
  }
  return people;
}

async function sessionOf(library: Library, { sessions }: BoardMemory, id: string): Promise<Session | null> {
  if (!sessions.get(id)) sessions.set(id, await library.session(id));
  return sessions.get(id) ?? null;
}

async function titleOf(remote: SignedIn['remote'], { titles }: BoardMemory, assignment: Assignment): Promise<void> {
  if (titles.has(assignment.session)) return;
  titles.set(assignment.session, (await readManifest(remote, assignment.session, assignment.manifest)).title);
}

function boardLine({ assignment, rater, stored, session }: Found, all: readonly Found[], title: string): BoardLine {
  const { branches, signOff, problems } = stored;
  const log = branches.length === 1 ? branches[0]! : null;
  return {
    rater,
    session: assignment.session,
    title,
    place: assignment.place,
    due: assignment.due,
    progress: log && session ? raterProgress(session, log) : null,
    signedOffAt: signOff?.at ?? null,
    signedOffEntries: signOff?.count ?? null,
    later: log && signOff ? Math.max(0, log.entries.length - signOff.count) : 0,
    branches,
    problems,
    agreement: session && agreementOf(session, blindLog(stored), assignment, rater, all),
  };
}

/** What was signed off, and nothing of what came later; null before that, and for an empty or forked log. */
function blindLog({ branches, signOff }: StoredLog): EditLog | null {
  if (branches.length !== 1 || !signOff || signOff.count === 0) return null;
  return firstEntries(branches[0]!, signOff.count);
}

function agreementOf(
  session: Session,
  own: EditLog | null,
  { place }: Assignment,
  rater: string,
  all: readonly Found[],
): PairAgreement | null {
  if (!own || place === 'settles') return null;
  const other = all.find(
    o => o.assignment.session === session.id && o.rater !== rater && o.assignment.place !== 'settles',
  );
  const log = other && blindLog(other.stored);
  return log ? pairAgreement(session, own, log) : null;
}

/** Brings the signed-off logs into this browser, where they are compared, settled and reported like any others. */
export async function takeSignedOff(library: Library, lines: readonly BoardLine[]): Promise<number> {
  let taken = 0;
  for (const { branches, signedOffAt, signedOffEntries } of lines) {
    if (branches.length !== 1 || signedOffAt === null || signedOffEntries === 0) continue;
    const added = await library.addLog(branches[0]!);
    if (added === 'added' || added === 'extended') taken++;
  }
  return taken;
}
