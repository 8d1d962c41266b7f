import { utf8ToBytes } from '@noble/hashes/utils.js';
import { canonicalJson, sha256Hex } from '../../core/marks/log';
import { appName, appVersion } from '../../core/report/version';
import { type Handling, keepAll } from '../../core/review/privacy/identifying';
import { byOwnRecordings, type HandedSession, handedSessions } from '../../core/review/privacy/leaving-handover';
import { leavesOut } from '../../core/review/privacy/leaving-study';
import { alikeCodes } from '../../core/review/raters/compare';
import type { SignalChecksums } from '../../core/review/raters/merge';
import type { Session } from '../../core/review/session';
import { readBundle } from '../../formats/bundle/reader';
import { blockBytes, fileSource } from '../../formats/bytes/source';
import { assignmentEntry, listedZip } from '../../formats/handover/listed-zip';
import { type AssignmentFile, assignmentFormat, handoverVersion } from '../../formats/handover/records';
import { isRaterCode } from '../../remote/names';
import { drawPairs } from '../../remote/study';
import { openAnalysis } from '../../workers/analysis';
import type { ExportFile } from '../export/exporting';
import { lockedFile } from '../export/locking';
import type { HasLibrary } from '../library';
import { withRequiredPractice } from '../practice/required';
import type { HasUi, Jobs } from '../stores/ui-store';
import { type Batch, type BatchPerson, batches } from './records';

export interface HandOutPlan {
  readonly title: string;
  readonly sessions: readonly string[];
  readonly raters: readonly string[];
  /** Share of sessions that two people rate, 0 to 1. */
  readonly doubleShare: number;
  readonly seed: number;
  /** YYYY-MM-DD. */
  readonly due: string | null;
  /** '' for files that anybody can open. */
  readonly passphrase: string;
  /** What of the sessions is left out; raters' codes stay, as the files are addressed to them. */
  readonly handling?: Handling;
}

export interface HandingOut extends HasLibrary, HasUi<Jobs> {
  now(): Date;
}

/**
 * One assignment file for each rater who is drawn, with the sessions and no log in it. The batch is kept with the names
 * under which the sessions leave, and what comes back is held against it.
 */
export async function handOut(app: HandingOut, plan: HandOutPlan): Promise<readonly ExportFile[]> {
  const bad = plan.raters.find(code => !isRaterCode(code));
  if (bad !== undefined) throw new Error(`"${bad}" cannot be a rater's code: letters, digits, "_", ".", "@" and "-".`);
  const alike = alikeCodes(plan.raters);
  if (alike !== null) throw new Error(`${alike}.`);
  const assignedAt = app.now().toISOString();
  const people = drawnPeople(plan);
  const { title, due, seed, doubleShare, handling = keepAll } = plan;
  // Nobody can try names until the id of the batch comes out.
  const salt = leavesOut(handling) ? crypto.randomUUID() : '';
  const copies = await blindCopies(app, plan.sessions, handling, sha256Hex(utf8ToBytes(salt)).slice(0, 8));
  const signals = Object.fromEntries(
    [...copies].map(([id, copy]) => [id, byOwnRecordings(copy.signals, copy.handed.names)]),
  );
  const drawn = { title, assignedAt, seed, doubleShare, due, people, signals };
  const id = sha256Hex(utf8ToBytes(canonicalJson(drawn) + salt)).slice(0, 16);
  const handedAs = Object.fromEntries([...copies].map(([own, copy]) => [own, copy.handed.names]));
  const batch: Batch = { id, ...drawn, ...(leavesOut(handling) ? { handedAs } : {}) };
  const shownTitle = handling.codes === 'drop' ? `Batch ${id}` : title;
  const files: ExportFile[] = [];
  for (const person of people)
    files.push(await assignmentFile({ ...batch, title: shownTitle }, person, copies, plan.passphrase));
  await (await batches(app.library)).put(batch, batch.id);
  return files;
}

/** Who gets which sessions; nobody who was drawn for none. */
function drawnPeople({ sessions, raters, doubleShare, seed }: HandOutPlan): readonly BatchPerson[] {
  const pairs = drawPairs(sessions, raters, doubleShare, seed);
  const people = raters.map(rater => {
    const own = pairs.filter(p => p.first === rater || p.second === rater);
    return { rater, sessions: own.map(p => p.session).sort(), returned: null };
  });
  return people.filter(p => p.sessions.length > 0);
}

interface BlindCopy {
  readonly bundle: Blob;
  /** By recording as it leaves. */
  readonly signals: SignalChecksums;
  readonly handed: HandedSession;
}

/** By the sessions' own ids. */
async function blindCopies(app: HandingOut, ids: readonly string[], handling: Handling, tag: string) {
  const sessions: Session[] = [];
  for (const id of ids) sessions.push(await sessionWithSignals(app, id));
  const copies = new Map<string, BlindCopy>();
  for (const [id, handed] of handedSessions(sessions, handling, tag)) copies.set(id, await blindCopy(app, id, handed));
  return copies;
}

async function sessionWithSignals(app: HandingOut, id: string): Promise<Session> {
  const session = await app.library.session(id);
  if (!session) throw new Error(`${id} is not kept in this browser.`);
  const { absent } = await app.library.leads(session);
  if (absent.length > 0) {
    throw new Error(`${session.title}: the signal of ${absent[0]} is not kept in this browser. Import it again.`);
  }
  return withRequiredPractice(app.library, session);
}

async function blindCopy(app: HandingOut, id: string, handed: HandedSession): Promise<BlindCopy> {
  const { session, names } = handed;
  const storedAs = {
    session: id,
    recordings: Object.fromEntries(names.recordings.map(([own, shown]) => [shown, own])),
  };
  const analysis = openAnalysis();
  let cancel = () => {};
  const job = app.ui.startJob(`Packing ${session.title}`, () => cancel());
  try {
    const running = analysis.start('bundle', { reviewed: { session, logs: [] }, storedAs, options: {} }, p =>
      job.progress(p.share),
    );
    cancel = running.cancel;
    const bundle = await running.done;
    const { signalChecksums } = await readBundle(fileSource(new File([bundle], `${id}.zip`)));
    return { bundle, signals: signalChecksums, handed };
  } finally {
    job.end();
    analysis.close();
  }
}

async function assignmentFile(
  batch: Batch,
  { rater, sessions }: BatchPerson,
  copies: ReadonlyMap<string, BlindCopy>,
  passphrase: string,
): Promise<ExportFile> {
  const path = (id: string) => `sessions/${id}.zip`;
  const given = sessions.map(id => copies.get(id)!);
  const members = given.map(({ handed, bundle }) => [path(handed.session.id), blocksOf(bundle)] as const);
  const listOf = (check: (path: string) => { bytes: number; sha256: string }): AssignmentFile => ({
    format: assignmentFormat,
    formatVersion: handoverVersion,
    writtenBy: `${appName} ${appVersion}`,
    batch: batch.id,
    title: batch.title,
    rater,
    due: batch.due,
    assignedAt: batch.assignedAt,
    sessions: given.map(
      ({
        handed: {
          session: { id },
        },
        signals,
      }) => ({ id, path: path(id), ...check(path(id)), signals }),
    ),
  });
  const parts: Blob[] = [];
  for await (const block of listedZip(members, assignmentEntry, listOf)) {
    parts.push(new Blob([block as Uint8Array<ArrayBuffer>]));
  }
  const file = { name: `assignment-${rater}-${batch.id}.zip`, blob: new Blob(parts, { type: 'application/zip' }) };
  return passphrase === '' ? file : lockedFile(file, passphrase);
}

async function* blocksOf(blob: Blob): AsyncGenerator<Uint8Array> {
  for (let at = 0; at < blob.size; at += blockBytes) {
    yield new Uint8Array(await blob.slice(at, at + blockBytes).arrayBuffer());
  }
}
