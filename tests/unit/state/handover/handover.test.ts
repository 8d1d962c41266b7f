import { beforeAll, beforeEach, describe, expect, test, vi } from 'vitest';
import { append, type EditLog, newLog } from '../../../../src/core/marks/log';
import { keepAllOfReturn } from '../../../../src/core/review/privacy/leaving-handover';
import { logHeader, type Session } from '../../../../src/core/review/session';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { bytesSource, fileSource } from '../../../../src/formats/bytes/source';
import { assignmentEntry, listedZip, openListedZip, returnPath } from '../../../../src/formats/handover/listed-zip';
import { assignmentFileSchema, returnFileSchema } from '../../../../src/formats/handover/records';
import { joinBytes } from '../../../../src/formats/zip/writer';
import type { App } from '../../../../src/state/app';
import type { ExportFile } from '../../../../src/state/export/exporting';
import { type HandOutPlan, handOut } from '../../../../src/state/handover/handing-out';
import { takeAssignment } from '../../../../src/state/handover/receiving';
import { batches, receivedAssignments } from '../../../../src/state/handover/records';
import { assignedReviews, returnFile } from '../../../../src/state/handover/returning';
import { takeReturn as takeReturnOf } from '../../../../src/state/handover/taking-back';
import { createMemoryDatabase } from '../../../../src/storage/memory-database';
import { createMemoryFiles } from '../../../../src/storage/memory-files';
import { openStoreOrMemory, withoutDisk } from '../../../../src/storage/without-disk';
import { madeSession } from '../../formats/bundle/reviewed';
import { bundleOf, createPage } from '../page';

/** A browser with a disk of its own: what works in memory takes the one that is in use. */
interface Browser {
  readonly app: App;
  readonly disk: Pick<NonNullable<ReturnType<typeof withoutDisk>>, 'database' | 'files'>;
}

async function openBrowser(): Promise<Browser> {
  const app = createPage();
  const disk = { database: createMemoryDatabase(), files: createMemoryFiles() };
  // The first page to open finds that it has to work in memory.
  await openStoreOrMemory();
  Object.assign(withoutDisk()!, disk);
  await app.library.database();
  await app.library.signals();
  return { app, disk };
}

/** Invented sessions, a new pair for each test. */
let count = 0;
const day = '2026-02-14T09:00:00.000Z';

describe('work handed over as files', () => {
  let leading: Browser;
  let rating: Browser;
  let lead: App;
  let rater: App;
  let ids: readonly string[];
  let files: readonly ExportFile[];

  beforeAll(async () => {
    leading = await openBrowser();
    rating = await openBrowser();
    [lead, rater] = [leading.app, rating.app];
  });

  const at = ({ app, disk }: Browser): App => {
    Object.assign(withoutDisk()!, disk);
    return app;
  };

  beforeEach(async () => {
    ids = [`V${++count}-am`, `V${count}-pm`];
    await at(leading).importFiles(ids.map(id => bundleOf(id, ['R9']).file));
    files = await handOut(at(leading), plan());
    for (const app of [lead, rater]) app.ui.setState({ notices: [] });
    rater.prefs.change({ rater: 'R1' });
  });

  const isOf = (sessions: readonly string[]) => sessions.includes(ids[0]!);
  const batchesOf = async () => (await (await batches(lead.library)).list()).filter(b => isOf(b.people[0]!.sessions));
  const receivedOf = async () =>
    (await (await receivedAssignments(rater.library)).list()).filter(r => isOf(r.sessions.map(s => s.id)));
  const sessionsHere = async () => (await rater.library.sessions()).map(s => s.id).filter(id => ids.includes(id));

  const plan = (): HandOutPlan => ({
    title: 'spring batch',
    sessions: ids,
    raters: ['R1', 'R2'],
    doubleShare: 1,
    seed: 3,
    due: '2026-03-01',
    passphrase: '',
  });
  const asFile = ({ name, blob }: ExportFile) => new File([blob], name);
  const assignment = (code = 'R1') => asFile(files.find(f => f.name.includes(`-${code}-`))!);
  const batch = async () => (await batchesOf())[0]!;
  const received = async () => (await receivedOf())[0]!;
  const takeReturn = (file: File) => takeReturnOf(at(leading), file);
  const told = (app: App) =>
    app.ui
      .getState()
      .notices.map(n => n.text)
      .join('\n');

  /** A review of one comment, under any code. */
  async function reviewed(session: string, code = 'R1', entries = 2, finish = false): Promise<EditLog> {
    const found = (await rater.library.session(session)) as Session;
    let log = newLog(logHeader(found, code));
    for (let i = 0; i < entries; i++) {
      const last = finish && i === entries - 1;
      const entry = last
        ? ({ at: day, recording: '', intent: 'finish', change: [] } as const)
        : ({ at: day, recording: 'chest-band', intent: 'look', change: [] } as const);
      log = append(log, entry).log;
    }
    return log;
  }

  async function returned(): Promise<File> {
    return asFile(await returnFile(rater, await received(), keepAllOfReturn, ''));
  }

  test('an assignment for another code does not change whose reviews somebody signed in writes', async () => {
    rater.prefs.signedInAs('R5');
    await takeAssignment(at(rating), assignment());
    expect(rater.prefs.getState().rater).toBe('R5');
    expect(told(rater)).toContain('signed in to the lab store as R5: sign out before you review as R1');
    rater.prefs.signedInAs(null);
  });

  test('a file for each rater: blind, with the sessions that were drawn', async () => {
    expect(files.map(f => f.name.replace(/-[0-9a-f]{16}/, ''))).toEqual(['assignment-R1.zip', 'assignment-R2.zip']);
    const { list, member } = await openListedZip(fileSource(assignment()), assignmentEntry, assignmentFileSchema);
    expect(list).toMatchObject({ title: 'spring batch', rater: 'R1', due: '2026-03-01' });
    // All are rated twice by two people: each gets all.
    expect(list.sessions.map(s => s.id)).toEqual(ids);
    for (const listed of list.sessions) {
      const { reviewed: inside } = await readBundle(bytesSource('s.zip', await member(listed)));
      expect(inside.logs).toEqual([]);
    }
    await expect(handOut(at(leading), { ...plan(), raters: ['R 1'] })).rejects.toThrow('"R 1"');
    await expect(handOut(at(leading), { ...plan(), sessions: ['V99'] })).rejects.toThrow('V99 is not kept');
    expect(await batchesOf()).toHaveLength(1);
  });

  test('received, reviewed in part, returned; later returned again and gone on', async () => {
    expect(await at(rating).importFiles([assignment()])).toEqual(ids);
    expect(rater.prefs.getState().rater).toBe('R1');
    expect(told(rater)).toContain('2 sessions are assigned to R1.');
    expect(await rater.library.raters(ids[0]!)).toEqual([]);
    await expect(returned()).rejects.toThrow('Nothing is reviewed as R1 yet.');
    await rater.library.addLog(await reviewed(ids[0]!));
    expect((await assignedReviews(rater, await received())).map(r => r.state)).toEqual(['under way', 'not begun']);
    const first = await returned();
    expect(await at(leading).importFiles([first])).toEqual([ids[0]]);
    expect((await lead.library.log(ids[0]!, 'R1'))!.entries).toHaveLength(2);
    await rater.library.addLog(await reviewed(ids[0]!, 'R1', 4, true));
    await rater.library.addLog(await reviewed(ids[1]!, 'R1', 3, true));
    const again = await returned();
    await at(leading).importFiles([again]);
    expect(told(lead)).toContain('2 reviews of R1 taken in (2 finished): 1 new, 1 went on, 0 as before.');
    const { returned: newest } = (await batch()).people[0]!;
    // One from before tells nothing new, and is not the last.
    lead.ui.setState({ notices: [] });
    await at(leading).importFiles([first]);
    expect((await batch()).people[0]!.returned).toEqual(newest);
    expect(told(lead)).toContain('1 review of R1 taken in (1 finished): 0 new, 0 went on, 1 as before.');
    await at(leading).importFiles([again]);
    expect((await batch()).people[0]!.returned).toMatchObject({ reviews: 2, finished: 2 });
    expect(told(lead)).toContain('2 reviews of R1 taken in (2 finished): 0 new, 0 went on, 2 as before.');
    // Nobody else's review goes back with it.
    const { list } = await openListedZip(fileSource(again), returnPath, returnFileSchema);
    expect(list.sessions.map(s => s.path)).toEqual(ids.map(id => `logs/${id}.jsonl`));
  });

  test('an older return that adds a session sets neither date nor counts back, and a newer one with fewer neither', async () => {
    vi.useFakeTimers({ toFake: ['Date'] });
    await at(rating).importFiles([assignment()]);
    await rater.library.addLog(await reviewed(ids[0]!, 'R1', 2, true));
    await rater.library.addLog(await reviewed(ids[1]!, 'R1', 3, true));
    vi.setSystemTime('2026-02-20T09:00:00.000Z');
    const both = await returned();
    await rater.library.removeSession(ids[1]!);
    vi.setSystemTime('2026-02-21T09:00:00.000Z');
    const one = await returned();
    vi.useRealTimers();
    const last = async () => (await batch()).people[0]!.returned;
    await at(leading).importFiles([one]);
    expect(await last()).toEqual({ at: '2026-02-21T09:00:00.000Z', reviews: 1, finished: 1 });
    await at(leading).importFiles([both]);
    expect(await last()).toEqual({ at: '2026-02-21T09:00:00.000Z', reviews: 2, finished: 2 });
    await at(leading).importFiles([one]);
    expect(await last()).toEqual({ at: '2026-02-21T09:00:00.000Z', reviews: 2, finished: 2 });
    expect(told(lead)).toContain('2 reviews of R1 taken in (2 finished): 1 new, 0 went on, 1 as before.');
  });

  test('work under another code is no return; the code is named', async () => {
    await at(rating).importFiles([assignment()]);
    await rater.library.addLog(await reviewed(ids[0]!, 'R7'));
    await expect(returned()).rejects.toThrow('under the code R7');
  });

  test('codes that differ in letters only are not drawn as two raters', async () => {
    const before = (await batchesOf()).length;
    await expect(handOut(at(leading), { ...plan(), raters: ['R1', 'r1'] })).rejects.toThrow('count as one rater');
    expect((await batchesOf()).length).toBe(before);
  });

  test('an assignment is taken in whole or not at all', async () => {
    // The second session is here already, with another signal.
    const other = madeSession([], 90, ids[1]!);
    const foreign = new File([writeBundle(other.reviewed, other.leads)], 'foreign.zip');
    await at(rating).importFiles([foreign]);
    expect(await at(rating).importFiles([assignment()])).toEqual([]);
    expect(told(rater)).toContain('was not taken in');
    expect(await rater.library.session(ids[0]!)).toBeNull();
    expect(rater.prefs.getState().rater).toBe('R1');
    await rater.library.removeSession(ids[1]!);
    expect(await at(rating).importFiles([assignment()])).toEqual(ids);
    // Received twice changes nothing.
    expect(await at(rating).importFiles([assignment()])).toEqual(ids);
    expect(await receivedOf()).toHaveLength(1);
  });

  test('a disk that fails half-way leaves nothing of an assignment', async () => {
    const keep = rater.library.saveSession;
    let kept = 0;
    const failing = { ...rater.library, saveSession: vi.fn(async (s: Session) => (kept++ > 0 ? fail() : keep(s))) };
    const fail = () => Promise.reject(new Error('The disk is full.'));
    const poor = { ...at(rating), library: failing } as App;
    await expect(takeAssignment(poor, assignment())).rejects.toThrow('The disk is full.');
    expect(await sessionsHere()).toEqual([]);
    expect(await receivedOf()).toEqual([]);
  });

  test('a damaged or unblind assignment is refused', async () => {
    const bytes = new Uint8Array(await assignment().arrayBuffer());
    bytes[5000] = bytes[5000]! ^ 1;
    expect(await at(rating).importFiles([new File([bytes], 'assignment.zip')])).toEqual([]);
    expect(told(rater)).toContain('assignment.zip');
    const { list } = await openListedZip(fileSource(assignment()), assignmentEntry, assignmentFileSchema);
    const made = madeSession(['R2'], 60, ids[0]!);
    const members = [['sessions/s.zip', [writeBundle(made.reviewed, made.leads)]]] as const;
    const seen = await zipOf(members, assignmentEntry, check => ({
      ...list,
      sessions: [{ ...list.sessions[0]!, path: 'sessions/s.zip', ...check('sessions/s.zip') }],
    }));
    expect(await at(rating).importFiles([seen])).toEqual([]);
    expect(told(rater)).toContain('so it is not blind');
    expect(await sessionsHere()).toEqual([]);
  });

  test('a return of another rater, batch, session or signal is refused, and nothing of it is taken', async () => {
    await at(rating).importFiles([assignment()]);
    for (const id of ids) await rater.library.addLog(await reviewed(id));
    const good = await returned();
    const { list, member } = await openListedZip(fileSource(good), returnPath, returnFileSchema);
    const logs = await Promise.all(list.sessions.map(s => member(s)));
    const members = list.sessions.map((s, i) => [s.path, [logs[i]!]] as const);
    const changed = (part: Partial<typeof list>) => zipOf(members, returnPath, () => ({ ...list, ...part }));
    const second = list.sessions[1]!;
    const sessions = (change: Partial<typeof second>) => [list.sessions[0]!, { ...second, ...change }];
    const wrong: readonly (readonly [File, string])[] = [
      [await changed({ rater: 'R5' }), 'to whom nothing of “spring batch” was handed out (R1, R2)'],
      [await changed({ rater: 'R2' }), 'is signed by R1, not by R2'],
      [await changed({ batch: 'another' }), 'was not handed out from this browser'],
      [await changed({ sessions: sessions({ id: 'V99' }) }), 'V99, which was not handed out to R1'],
      [await changed({ sessions: sessions({ entries: 5 }) }), 'it has 2 entries, not 5'],
      [await changed({ sessions: sessions({ signals: { 'chest-band': 'f'.repeat(64) } }) }), 'has another checksum'],
    ];
    for (const [file, why] of wrong) {
      await expect(takeReturn(file)).rejects.toThrow(why);
      expect(await lead.library.raters(ids[0]!)).toEqual(['R9']);
    }
    // The signal here is no longer the one that was handed out; the recording of the other session is gone.
    await lead.library.removeSession(ids[1]!);
    await expect(takeReturn(good)).rejects.toThrow('is not kept in this browser any more');
    const changedHere = madeSession([], 60, ids[1]!);
    const flat = (id: string, lead_: number) => changedHere.leads(id, lead_).map(word => word ^ 1);
    await at(leading).importFiles([new File([writeBundle(changedHere.reviewed, flat)], 'changed.zip')]);
    await expect(takeReturn(good)).rejects.toThrow('has another checksum');
    expect(await lead.library.raters(ids[0]!)).toEqual(['R9']);
  });

  test('a review that parts from what was returned before is refused', async () => {
    await at(rating).importFiles([assignment()]);
    await rater.library.addLog(await reviewed(ids[0]!));
    const first = await returned();
    await at(leading).importFiles([first]);
    await rater.library.removeSession(ids[0]!);
    await at(rating).importFiles([assignment()]);
    await rater.library.addLog(await reviewed(ids[0]!, 'R1', 1, true));
    await expect(takeReturn(await returned())).rejects.toThrow('part at entry 0');
    expect((await lead.library.log(ids[0]!, 'R1'))!.entries).toHaveLength(2);
  });

  test('a locked assignment asks for its passphrase', async () => {
    const [locked] = await handOut(at(leading), { ...plan(), passphrase: 'ridge hut lantern' });
    const ask = vi.spyOn(rater.ui, 'askPassphrase').mockResolvedValue('ridge hut lantern');
    expect(await at(rating).importFiles([asFile(locked!)])).toEqual(ids);
    expect(ask).toHaveBeenCalledOnce();
  });
});

async function zipOf(...args: Parameters<typeof listedZip>): Promise<File> {
  const parts: Uint8Array[] = [];
  for await (const part of listedZip(...args)) parts.push(part);
  return new File([joinBytes(parts)], 'made.zip');
}
