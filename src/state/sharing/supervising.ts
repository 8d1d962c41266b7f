import { defaultMatchSettings } from '../../core/marks/match';
import { fileSource } from '../../formats/bytes/source';
import { addHeads, type Head } from '../../remote/heads';
import { isRaterCode } from '../../remote/names';
import type { StudyRevision } from '../../remote/records';
import { listManifests, sendSession } from '../../remote/session-parts';
import { assign, drawPairs, makeStudyFolders, readStudyRevision, reviseStudy } from '../../remote/study';
import { openAnalysis } from '../../workers/analysis';
import type { BoardLine, BranchEnd } from './board-line';
import type { SharingParts, SignedIn } from './lab-store';

export interface Batch {
  readonly sessions: readonly string[];
  readonly raters: readonly string[];
  /** Settles the differences of all; null where nobody does yet. */
  readonly settler: string | null;
  /** 0 to 1. */
  readonly doubleShare: number;
  readonly seed: number;
  /** YYYY-MM-DD. */
  readonly due: string | null;
}

/** Sends the sessions that are not in the store yet, draws who rates what, and assigns it. */
export async function assignBatch(parts: SharingParts, { remote, study }: SignedIn, batch: Batch): Promise<void> {
  const people = [...batch.raters, ...(batch.settler === null ? [] : [batch.settler])];
  const bad = people.find(code => !isRaterCode(code));
  if (bad !== undefined) throw new Error(`"${bad}" cannot be the code of an account.`);
  if (batch.settler !== null && batch.raters.includes(batch.settler)) {
    throw new Error(`${batch.settler} rates and cannot settle as well.`);
  }
  await makeStudyFolders(remote, people);
  const manifests = new Map<string, string>();
  for (const id of batch.sessions) manifests.set(id, await sendOnce(parts, remote, id));
  const assignedAt = parts.now().toISOString();
  const pairs = drawPairs(batch.sessions, batch.raters, batch.doubleShare, batch.seed);
  await revise(remote, study, revision => ({
    ...revision,
    draws: [
      ...revision.draws,
      {
        raters: people,
        sessions: [...batch.sessions],
        doubleShare: batch.doubleShare,
        seed: batch.seed,
        at: assignedAt,
      },
    ],
  }));
  for (const { session, first, second } of pairs) {
    const common = { session, manifest: manifests.get(session)!, due: batch.due, assignedAt };
    await assign(remote, first, { ...common, place: 'first' });
    if (second !== null) await assign(remote, second, { ...common, place: 'second' });
    if (batch.settler !== null) await assign(remote, batch.settler, { ...common, place: 'settles' });
  }
}

async function sendOnce({ ui, library }: SharingParts, remote: SignedIn['remote'], id: string): Promise<string> {
  const [there] = await listManifests(remote, id);
  if (there !== undefined) return there;
  const session = await library.session(id);
  if (!session) throw new Error(`${id} is not kept in this browser.`);
  const analysis = openAnalysis();
  const stop = new AbortController();
  const job = ui.startJob(`Sending ${session.title}`, () => stop.abort());
  try {
    const input = { reviewed: { session, logs: [] }, options: { level: 0 as const } };
    const bundle = new File([await analysis.start('bundle', input).done], `${id}.zip`);
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
