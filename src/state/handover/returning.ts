import type { EditLog } from '../../core/marks/log';
import { appName, appVersion } from '../../core/report/version';
import { type ReturnHandling, returnedLog, returnedTime } from '../../core/review/privacy/leaving-handover';
import { isFinished } from '../../core/review/raters/blind';
import { logLines } from '../../formats/bundle/layout';
import { listedZip, returnPath } from '../../formats/handover/listed-zip';
import { handoverVersion, type ReturnFile, returnFormat } from '../../formats/handover/records';
import type { ExportFile } from '../export/exporting';
import { lockedFile } from '../export/locking';
import type { HasLibrary } from '../library';
import { type ReceivedAssignment, receivedAssignments } from './records';

/** How far the rater is with one session of an assignment, as it is on the disk. */
export interface AssignedReview {
  readonly id: string;
  readonly title: string;
  readonly state: 'removed' | 'not begun' | 'under way' | 'finished';
}

export async function assignedReviews(
  { library }: HasLibrary,
  { rater, sessions }: ReceivedAssignment,
): Promise<readonly AssignedReview[]> {
  const found: AssignedReview[] = [];
  for (const { id, title } of sessions) {
    const log = await library.log(id, rater);
    const begun = log && log.entries.length > 0;
    const here = (await library.session(id)) !== null;
    const state = !here ? 'removed' : !begun ? 'not begun' : isFinished(log) ? 'finished' : 'under way';
    found.push({ id, title, state });
  }
  return found;
}

type ReturnedReview = ReceivedAssignment['sessions'][number] & { readonly log: EditLog; readonly path: string };

async function reviewsAsReturned(
  { library }: HasLibrary,
  { rater, sessions }: ReceivedAssignment,
  handling: ReturnHandling,
): Promise<readonly ReturnedReview[]> {
  const reviews: ReturnedReview[] = [];
  for (const listed of sessions) {
    const session = await library.session(listed.id);
    const log = session && (await library.log(listed.id, rater));
    if (!log || log.entries.length === 0) continue;
    reviews.push({ ...listed, log: returnedLog(session, log, handling), path: `logs/${listed.id}.jsonl` });
  }
  return reviews;
}

/**
 * The rater's reviews of an assignment as one file, and nobody else's. Those not begun are left out. What else was left
 * out is kept with the assignment: the next return goes on from this one only with the same choice.
 */
export async function returnFile(
  app: HasLibrary & { now(): Date },
  assignment: ReceivedAssignment,
  handling: ReturnHandling,
  passphrase: string,
): Promise<ExportFile> {
  const { batch, title, rater } = assignment;
  const logs = await reviewsAsReturned(app, assignment, handling);
  if (logs.length === 0) throw new Error(await whyNothing(app, assignment));
  const members = logs.map(({ path, log }) => [path, [logLines(log)]] as const);
  const listOf = (check: (path: string) => { bytes: number; sha256: string }): ReturnFile => ({
    format: returnFormat,
    formatVersion: handoverVersion,
    writtenBy: `${appName} ${appVersion}`,
    batch,
    title,
    rater,
    returnedAt: returnedTime(app.now().toISOString(), handling),
    sessions: logs.map(({ id, path, signals, log }) => ({
      id,
      path,
      ...check(path),
      signals,
      entries: log.entries.length,
      finished: isFinished(log),
    })),
  });
  const parts: Blob[] = [];
  for await (const block of listedZip(members, returnPath, listOf)) {
    parts.push(new Blob([block as Uint8Array<ArrayBuffer>]));
  }
  const file = { name: `return-${rater}-${batch}.zip`, blob: new Blob(parts, { type: 'application/zip' }) };
  const made = passphrase === '' ? file : await lockedFile(file, passphrase);
  await (await receivedAssignments(app.library)).put({ ...assignment, returnedAs: handling }, batch, rater);
  return made;
}

/** Work under another code than the assigned one is no return of this rater. */
async function whyNothing({ library }: HasLibrary, { rater, sessions }: ReceivedAssignment): Promise<string> {
  const others = new Set<string>();
  for (const { id } of sessions) for (const code of await library.raters(id)) if (code !== rater) others.add(code);
  const under = [...others].sort().join(' and ');
  const hint = under === '' ? '' : ` There are reviews under the code ${under}: give them the code ${rater} first.`;
  return `Nothing is reviewed as ${rater} yet.${hint}`;
}
