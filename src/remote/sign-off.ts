import type { EditLog } from '../core/marks/log';
import { lastHash } from '../core/marks/log';
import { doneFolder, signOffPath } from './names';
import { readRecord, recordBytes, type StoredSignOff, signOffSchema } from './records';
import { RemoteError } from './remote-error';
import type { RemoteStore } from './remote-store';

export type SignedOff =
  | { readonly state: 'signed off'; readonly signOff: StoredSignOff }
  /** Another machine of the rater has signed off another state of the log. */
  | { readonly state: 'signed off elsewhere'; readonly signOff: StoredSignOff };

/**
 * Signs off the log as it is, which must have been sent in whole. From then on the server takes entries of this session
 * only as made afterwards, and lets the rater read the others'. Cannot be taken back.
 */
export async function signOffLog(store: RemoteStore, log: EditLog, at: string): Promise<SignedOff> {
  const { rater, session } = log.header;
  const signOff: StoredSignOff = { head: lastHash(log), count: log.entries.length, at };
  const path = signOffPath(rater, session);
  if ((await store.create(path, recordBytes(signOff).bytes)) === 'created') return { state: 'signed off', signOff };
  // The name is taken: by an answer that was lost, or by another machine.
  const found = await readSignOff(store, rater, session);
  if (!found) throw new RemoteError('unexpected', `${path} exists, but is not there`);
  return { state: found.head === signOff.head ? 'signed off' : 'signed off elsewhere', signOff: found };
}

function readSignOff(store: RemoteStore, rater: string, session: string): Promise<StoredSignOff | null> {
  return readRecord(store, signOffSchema, signOffPath(rater, session));
}

/** Sessions that a rater has signed off. */
export async function listSignedOff(store: RemoteStore, rater: string): Promise<readonly string[]> {
  const listed = (await store.list(doneFolder(rater))) ?? [];
  return listed.filter(e => !e.isFolder && e.name.endsWith('.json')).map(e => e.name.slice(0, -'.json'.length));
}
