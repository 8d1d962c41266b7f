import { defaultMatchSettings } from '../../core/marks/match';
import { alikeCodes, isSamePerson } from '../../core/review/raters/compare';
import type { Session } from '../../core/review/session';
import { fileSource } from '../../formats/bytes/source';
import { addHeads, type Head } from '../../remote/heads';
import { isRaterCode } from '../../remote/names';
import type { Assignment, StudyRevision } from '../../remote/records';
import { listManifests, sendSession } from '../../remote/session-parts';
import {
  assign,
  drawPairs,
  makeStudyFolders,
  readAssignments,
  readStudyRevision,
  reviseStudy,
} from '../../remote/study';
import { openAnalysis } from '../../workers/analysis';
import type { BundleInput } from '../../workers/analysis-jobs';
import { withRequiredPractice } from '../practice/required';
import type { BoardLine, BranchEnd } from './board-line';
import type { SharingParts, SignedIn } from './lab-store';
import { newRepeat } from './repeats';

export interface AssignedBatch {
  readonly sessions: readonly string[];
  readonly raters: readonly string[];
  /** Settles the differences of all; null where nobody does yet. */
  readonly settler: string | null;
  /** 0 to 1. */
  readonly doubleShare: number;
  readonly seed: number;
  /** YYYY-MM-DD. */
  readonly due: string | null;
  /** Everybody rates every session, and the first code is the reference that others are compared with. */
  readonly calibration: boolean;
  /** Whoever was given a session before gets it once more under another name, to be compared with their first review. */
  readonly repeats?: boolean;
}

/** Sends the sessions that are not in the store yet, draws who rates what, and assigns it. */
export async function assignBatch(
  parts: SharingParts,
  { remote, study }: InStudy,
  batch: AssignedBatch,
): Promise<void> {
  const why = whyNotBatch(batch);
  if (why !== null) throw new Error(why);
  const people = peopleOf(batch);
  const known = ((await remote.list('assign/')) ?? []).map(e => e.name);
  // Codes of an older study may be alike: whoever has one of them goes on.
  const fresh = people.filter(code => !known.includes(code));
  const alike =
    alikeCodes(people) ?? fresh.map(code => alikeCodes([...likeIt(known, code), code])).find(a => a !== null);
  if (alike) throw new Error(alike);
  await makeStudyFolders(remote, people);
  if (batch.repeats) return assignRepeats(parts, { remote, study }, batch);
  const manifests = new Map<string, string>();
  for (const id of batch.sessions) manifests.set(id, await sendOnce(parts, remote, id));
  const assignedAt = parts.now().toISOString();
  await revise(remote, study, revision => ({
    ...revision,
    ...(batch.calibration ? { calibration: [...new Set([...(revision.calibration ?? []), ...batch.sessions])] } : {}),
    draws: [
      ...revision.draws,
      {
        raters: people,
        sessions: [...batch.sessions],
        doubleShare: batch.calibration ? 1 : batch.doubleShare,
        seed: batch.seed,
        at: assignedAt,
      },
    ],
  }));
  for (const { rater, session, place } of tasksOf(batch)) {
    await assign(remote, rater, { session, manifest: manifests.get(session)!, place, due: batch.due, assignedAt });
  }
}

const likeIt = (codes: readonly string[], code: string) =>
  codes.filter(other => other.toLowerCase() === code.toLowerCase());

const peopleOf = ({ raters, settler }: AssignedBatch) => [...raters, ...(settler === null ? [] : [settler])];

/** What is wrong with a batch, in words, before anything of it is sent: an assignment cannot be taken back. */
function whyNotBatch(batch: AssignedBatch): string | null {
  const { raters, settler, calibration, repeats } = batch;
  const bad = peopleOf(batch).find(code => !isRaterCode(code));
  if (bad !== undefined) return `"${bad}" cannot be the code of an account.`;
  if (settler !== null && raters.some(rater => isSamePerson(rater, settler)))
    return `${settler} rates and cannot settle as well.`;
  if (repeats && (calibration || settler !== null))
    return 'Sessions given once more have no settler and no reference rater.';
  if (calibration && settler !== null) return 'Calibration sessions are not settled.';
  if (calibration && raters.length < 2) return 'Calibration needs a reference rater and one more.';
  return null;
}

type InStudy = Pick<SignedIn, 'remote' | 'study'>;

/** Nobody settles what one person found twice. */
async function assignRepeats(parts: SharingParts, { remote, study }: InStudy, batch: AssignedBatch): Promise<void> {
  const assignedAt = parts.now().toISOString();
  for (const id of batch.sessions) {
    const session = await withRequiredPractice(parts.library, await keptSession(parts, id));
    const raters = await ratersOf(remote, batch.raters, id);
    if (raters.length === 0)
      throw new Error(`${session.title} was given to none of ${batch.raters.join(', ')} before.`);
    const copy = newRepeat(session, assignedAt);
    const own = copy.session.id;
    const storedAs = {
      session: id,
      recordings: Object.fromEntries(copy.names.recordings.map(([here, shown]) => [shown, here])),
    };
    const manifest = await send(parts, remote, copy.session, storedAs);
    await revise(remote, study, revision => ({
      ...revision,
      repeats: [...(revision.repeats ?? []), { session: own, of: id }],
      draws: [...revision.draws, { raters, sessions: [own], doubleShare: 1, seed: batch.seed, at: assignedAt }],
    }));
    for (const rater of raters) {
      await assign(remote, rater, { session: own, manifest, place: 'first', due: batch.due, assignedAt });
    }
  }
}

async function ratersOf(remote: SignedIn['remote'], raters: readonly string[], session: string): Promise<string[]> {
  const found: string[] = [];
  for (const rater of raters) {
    const given = await readAssignments(remote, rater);
    if (given.some(a => a.session === session && a.place !== 'settles')) found.push(rater);
  }
  return found;
}

interface Task extends Pick<Assignment, 'session' | 'place'> {
  readonly rater: string;
}

function tasksOf({ sessions, raters, settler, doubleShare, seed, calibration }: AssignedBatch): readonly Task[] {
  if (calibration) {
    return sessions.flatMap(session =>
      raters.map((rater, i): Task => ({ rater, session, place: i === 0 ? 'first' : 'second' })),
    );
  }
  return drawPairs(sessions, raters, doubleShare, seed).flatMap(({ session, first, second }): Task[] => [
    { rater: first, session, place: 'first' },
    ...(second === null ? [] : [{ rater: second, session, place: 'second' } as const]),
    ...(settler === null ? [] : [{ rater: settler, session, place: 'settles' } as const]),
  ]);
}

async function sendOnce(parts: SharingParts, remote: SignedIn['remote'], id: string): Promise<string> {
  const [there] = await listManifests(remote, id);
  if (there !== undefined) return there;
  return send(parts, remote, await withRequiredPractice(parts.library, await keptSession(parts, id)));
}

async function keptSession({ library }: SharingParts, id: string): Promise<Session> {
  const session = await library.session(id);
  if (!session) throw new Error(`${id} is not kept in this browser.`);
  return session;
}

/** `storedAs`: under which names its signals lie in this browser, where it leaves under others. */
async function send(
  { ui }: SharingParts,
  remote: SignedIn['remote'],
  session: Session,
  storedAs?: BundleInput['storedAs'],
): Promise<string> {
  const analysis = openAnalysis();
  const stop = new AbortController();
  const job = ui.startJob(`Sending ${session.title}`, () => stop.abort());
  try {
    const input = {
      reviewed: { session, logs: [] },
      options: { level: 0 as const },
      ...(storedAs ? { storedAs } : {}),
    };
    const bundle = new File([await analysis.start('bundle', input).done], `${session.id}.zip`);
    const onProgress = (done: number, total: number) => job.progress(done / total);
    return await sendSession(remote, session, fileSource(bundle), { onProgress, signal: stop.signal });
  } finally {
    job.end();
    analysis.close();
  }
}

/** Changes the study by a new revision; another supervisor's meanwhile is taken as the start of a new try. */
async function revise(
  remote: SignedIn['remote'],
  study: string,
  change: (revision: StudyRevision) => StudyRevision,
): Promise<void> {
  for (let attempt = 0; attempt < 5; attempt++) {
    const found = await readStudyRevision(remote);
    const start = found?.revision ?? emptyRevision(study);
    if ((await reviseStudy(remote, change(start), found?.number ?? 0)) === 'revised') return;
  }
  throw new Error('Other supervisors change the study at the same time: try again.');
}

function emptyRevision(id: string): StudyRevision {
  return {
    format: 'beat-ledger study in a store',
    formatVersion: 1,
    id,
    title: id,
    protocol: '',
    settings: { ...defaultMatchSettings },
    draws: [],
    branches: [],
  };
}

/** Which branch of a forked log counts, by the hash of its last entry. */
export function chooseBranch(
  parts: SharingParts,
  { remote, study }: SignedIn,
  { rater, session }: BoardLine,
  { head }: BranchEnd,
): Promise<void> {
  const choice = { rater, session, head, at: parts.now().toISOString() };
  return revise(remote, study, revision => ({ ...revision, branches: [...revision.branches, choice] }));
}

/** Writes down how long each log is and what it ends in. */
export async function noteHeads(
  parts: SharingParts,
  { remote }: SignedIn,
  lines: readonly BoardLine[],
): Promise<number> {
  const heads = lines.flatMap(({ rater, session, branches, signedOffAt }): Head[] => {
    const [end, second] = branches;
    if (!end || second) return [];
    return [{ rater, session, count: end.entries, head: end.head, signedOff: signedOffAt !== null }];
  });
  return (await addHeads(remote, heads, parts.now().toISOString())).number;
}
