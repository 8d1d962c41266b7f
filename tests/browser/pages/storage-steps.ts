import { append, type EditLog, type LogHeader, newLog, verifyChain } from '../../../src/core/marks/log';
import type { Session } from '../../../src/core/review/session';
import type { SampleIndex } from '../../../src/core/units';
import { collection } from '../../../src/storage/collection';
import { type Database, type DatabaseOptions, openDatabase } from '../../../src/storage/database';
import { importRecords } from '../../../src/storage/imports';
import { lockSession, type SessionLock } from '../../../src/storage/locks';
import { addLog, appendEntry, foldLog, listRaters, readLog } from '../../../src/storage/logs';
import { estimateStorage } from '../../../src/storage/persistence';
import { StorageProblem } from '../../../src/storage/problem';
import { deleteSession, listSessions, readSession, saveSession } from '../../../src/storage/sessions';

/** Steps that the storage tests take inside a real browser. Each opens the store again unless it keeps one on purpose. */

const header = (rater: string): LogHeader => ({ session: 's1', rater, detected: {}, role: 'rater' });

function logOf(rater: string, count: number): EditLog {
  let log = newLog(header(rater));
  const at = '2026-05-04T10:00:00.000Z';
  for (let i = 0; i < count; i++) {
    const change = [{ op: 'marks', removed: [], added: [(360 * i) as SampleIndex] }] as const;
    log = append(log, { at, recording: 'chest-band', intent: 'insert', change }).log;
  }
  return log;
}

const session = (id: string): Session => ({
  id,
  title: `Training day ${id}`,
  participant: 'V01',
  recordings: [
    {
      recording: {
        id: 'chest-band',
        recorder: 'chest band',
        samplingRateHz: 130,
        sampleCount: 39_000,
        startedAt: '2026-05-04T09:00:00',
        leads: [],
        gaps: [],
        source: 'demo',
      },
      detected: Int32Array.of(5, 100, 230),
      detectedBy: 'recorder',
      segments: [{ name: 'radio watch', start: 0 as SampleIndex, end: 39_000 as SampleIndex }],
    },
  ],
  settings: { onPeakToleranceMs: 50, wrongPeakWindowMs: 400 },
});

/** What a step threw, so that a test can look at it from outside the browser. */
export async function problemOf(work: () => Promise<unknown>) {
  try {
    await work();
    return null;
  } catch (error) {
    if (error instanceof StorageProblem) return { kind: error.kind, message: error.message, remedy: error.remedy };
    throw error;
  }
}

export async function saveAndReadSession() {
  const database = await openDatabase();
  await saveSession(database, session('s1'), '2026-05-04T10:00:00.000Z');
  await saveSession(database, session('s2'), '2026-05-05T10:00:00.000Z');
  const back = await readSession(database, 's1');
  const list = await listSessions(database);
  const detected = back?.recordings[0]?.detected;
  return { detected: [...(detected ?? [])], typed: detected instanceof Int32Array, list };
}

export async function deleteEverythingOf(id: string) {
  const database = await openDatabase();
  await saveSession(database, session('s1'), '2026-05-04T10:00:00.000Z');
  await saveSession(database, session('s10'), '2026-05-04T10:00:00.000Z');
  await addLog(database, logOf('R1', 2500));
  await appendEntry(database, logOf('R1', 2501).header, logOf('R1', 2501).entries[2500]!);
  await collection(database, 'view').put({ caret: 5 }, 's1', 'R1');
  const begun = {
    session: 's1',
    recording: 'chest-band',
    fileName: 'a.edf',
    fileBytes: 9,
    startedAt: '',
    doneBytes: 1,
  };
  await importRecords(database).put(begun, 's1', 'chest-band');
  const unfinished = await importRecords(database).list();
  await deleteSession(database, id);
  return { unfinished, keys: await allKeys(database) };
}

async function allKeys(database: Database): Promise<string[]> {
  const keys = await database.read<IDBValidKey[]>(
    store =>
      new Promise((resolve, reject) => {
        const request = store.getAllKeys();
        request.onsuccess = () => resolve(request.result);
        request.onerror = () => reject(request.error);
      }),
  );
  return keys.map(key => JSON.stringify(key));
}

/** Appends entries one after the other, each awaited; tells the outside after each through `window.saved`. */
export async function appendMany(rater: string, count: number) {
  const database = await openDatabase();
  const stored = await readLog(database, 's1', rater);
  const log = logOf(rater, (stored?.entries.length ?? 0) + count);
  const latencies: number[] = [];
  for (const entry of log.entries.slice(-count)) {
    const before = performance.now();
    await appendEntry(database, log.header, entry);
    latencies.push(performance.now() - before);
    await (globalThis as { saved?: (seq: number) => Promise<void> }).saved?.(entry.seq);
  }
  latencies.sort((a, b) => a - b);
  return { medianMs: latencies[count >> 1]!, p95Ms: latencies[Math.floor(count * 0.95)]! };
}

export async function storedLog(rater: string) {
  const database = await openDatabase();
  const before = performance.now();
  const log = await readLog(database, 's1', rater);
  const readMs = performance.now() - before;
  return {
    count: log?.entries.length ?? 0,
    chain: log && verifyChain(log),
    readMs,
    raters: await listRaters(database, 's1'),
  };
}

/** Ten thousand entries kept one by one in few transactions, then folded. */
export async function foldTenThousand() {
  const database = await openDatabase();
  const log = logOf('R1', 10_500);
  await addLog(database, { ...log, entries: log.entries.slice(0, 1) });
  await addLog(database, log);
  const before = (await allKeys(database)).length;
  const folded = await foldLog(database, 's1', 'R1');
  const again = await foldLog(database, 's1', 'R1');
  return { before, folded, again, after: (await allKeys(database)).length };
}

export async function appendOutOfOrder() {
  const database = await openDatabase();
  const log = logOf('R1', 5);
  await appendEntry(database, log.header, log.entries[0]!);
  const skipped = await problemOf(() => appendEntry(database, log.header, log.entries[2]!));
  const repeated = await problemOf(() => appendEntry(database, log.header, log.entries[0]!));
  const foreign = await problemOf(() =>
    appendEntry(database, { ...log.header, detected: { other: 'x' } }, log.entries[1]!),
  );
  await appendEntry(database, log.header, log.entries[1]!);
  return { skipped, repeated, foreign, count: (await readLog(database, 's1', 'R1'))?.entries.length };
}

export async function appendAfterRemoval() {
  const database = await openDatabase();
  const log = logOf('R1', 3);
  for (const entry of log.entries.slice(0, 2)) await appendEntry(database, log.header, entry);
  await deleteSession(database, 's1');
  const problem = await problemOf(() => appendEntry(database, log.header, log.entries[2]!));
  return { problem, keys: await allKeys(database) };
}

export async function addLogs() {
  const database = await openDatabase();
  const long = logOf('R1', 30);
  const short = { ...long, entries: long.entries.slice(0, 20) };
  const other = append(short, { at: '2027-01-01T00:00:00.000Z', recording: '', intent: 'finish', change: [] }).log;
  const answers = [];
  for (const log of [short, short, long, short, other]) answers.push(await addLog(database, log));
  return { answers, count: (await readLog(database, 's1', 'R1'))?.entries.length };
}

export async function emptiedUnderneath() {
  const database = await openDatabase();
  const log = logOf('R1', 2);
  await appendEntry(database, log.header, log.entries[0]!);
  await database.write(async store => {
    store.clear();
  });
  return problemOf(() => appendEntry(database, log.header, log.entries[1]!));
}

/** Opens with the given number of invented upgrades, each of which notes its own number in the value. */
const withUpgrades = (count: number): DatabaseOptions => ({
  upgrades: Array.from(
    { length: count },
    (_, i) =>
      ({ key, value }: { key: readonly (string | number)[]; value: unknown }) => [
        { key, value: { ...(value as object), [`upgrade${i + 1}`]: true } },
      ],
  ),
});

export async function upgradeThenOpenOld() {
  const old = await openDatabase(withUpgrades(0));
  await collection(old, 'setting').put({ theme: 'dark' }, 'look');
  const middle = await openDatabase(withUpgrades(1));
  const newest = await openDatabase(withUpgrades(3));
  const value = await collection(newest, 'setting').get('look');
  const openOld = await problemOf(() => openDatabase(withUpgrades(1)));
  const writeOld = await problemOf(() => collection(middle, 'setting').put({}, 'look'));
  return { value, openOld, writeOld };
}

/** A transaction held open by this tab for a while. */
export async function fill(bytes: number) {
  const database = await openDatabase();
  const log = logOf('R1', 2);
  await appendEntry(database, log.header, log.entries[0]!);
  const noise = new Uint8Array(bytes);
  for (let i = 0; i < bytes; i += 65_536) crypto.getRandomValues(noise.subarray(i, i + 65_536));
  const big = await problemOf(() => collection(database, 'setting').put(noise, 'big'));
  return { big, kept: (await readLog(database, 's1', 'R1'))?.entries.length };
}

export const estimate = estimateStorage;

export async function deniedStore() {
  Object.defineProperty(globalThis, 'indexedDB', { value: undefined, configurable: true });
  return problemOf(() => openDatabase());
}

/** Another tab that asks for deletion while a connection is open makes every later opening wait. */
export async function blockedStore() {
  const name = 'held';
  await new Promise<void>(resolve => {
    const request = indexedDB.open(name, 1);
    request.onupgradeneeded = () => request.result.createObjectStore('records');
    request.onsuccess = () => resolve();
  });
  indexedDB.deleteDatabase(name);
  return problemOf(() => openDatabase({ name, patienceMs: 500 }));
}

let opening: Promise<string | null> | null = null;

/** Begins to open the store after a moment, without waiting for it. */
export function openSoon(afterMs: number, patienceMs: number) {
  opening = new Promise(resolve => setTimeout(resolve, afterMs)).then(async () => {
    const problem = await problemOf(() => openDatabase({ name: 'slow', patienceMs }));
    return problem?.kind ?? null;
  });
}

/** What kept the store begun by `openSoon` from opening; null when it opened. */
export const openedSince = () => opening;

let held: SessionLock | null = null;
let handedOver = false;

export async function lock(sessionId: string, rater: string) {
  held = await lockSession(sessionId, rater, later => {
    held = later;
    handedOver = true;
  });
  return held.held;
}

export const release = () => held?.release();
export const wasHandedOver = () => handedOver;
