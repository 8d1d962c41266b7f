import { describe, expect } from 'vitest';
import { append, type EditLog, newLog } from '../../../../src/core/marks/log';
import { logHeader } from '../../../../src/core/review/session';
import { logLines } from '../../../../src/formats/bundle/layout';
import { chunkOf, logFolder } from '../../../../src/remote/names';
import { RemoteError } from '../../../../src/remote/remote-error';
import type { RemoteStore } from '../../../../src/remote/remote-store';
import { sendLog } from '../../../../src/remote/send-log';
import { signOffLog } from '../../../../src/remote/sign-off';
import type { App } from '../../../../src/state/app';
import { openReview } from '../../../../src/state/review/opening';
import { newBoardMemory, readBoard, takeSignedOff } from '../../../../src/state/sharing/board';
import { needsSupervisor } from '../../../../src/state/sharing/board-line';
import { fetchAssigned } from '../../../../src/state/sharing/fetching';
import { unsentSessions } from '../../../../src/state/sharing/lab-store';
import { sendOwnLog } from '../../../../src/state/sharing/own-logs';
import { chooseBranch } from '../../../../src/state/sharing/supervising';
import { unsteady } from '../../remote/memory-store';
import { beginning, signIn, test } from './study';

/** Path and bytes of the entries of a log from `from` on, as one file. */
function chunkOfBranch(log: EditLog, from: number): [string, Uint8Array] {
  const { rater, session } = log.header;
  const entries = log.entries.slice(from);
  const { name } = chunkOf(from, log.entries.length - 1, entries.at(-1)!.hash);
  const lines = logLines({ header: log.header, entries });
  return [logFolder(rater, session) + name, lines.subarray(lines.indexOf(10) + 1)];
}

describe('a rater at several machines and in several tabs', () => {
  test('another machine has gone on: its entries come, but not under a review that is open', async ({
    study: { store, app, made, id, ofR1, sent, send },
  }) => {
    await sendLog(store, ofR1, { seen: 0, signedOff: false });
    await signIn(app, 'R1', 'rater', store);
    const opened = await openReview(app, made.session, 'R1');
    await send(opened.review);
    await opened.close();
    expect(sent()).toEqual({ state: 'not sent', why: 'continued on another machine' });
    expect(await app.library.log(id, 'R1')).toBeNull();
    await send();
    expect((await app.library.log(id, 'R1'))!.entries.length).toBe(6);
  });

  test('a review that is open in another tab does not grow under it', async ({
    study: { store, app, made, id, ofR1, sent, send },
  }) => {
    await sendLog(store, ofR1, { seen: 0, signedOff: false });
    await signIn(app, 'R1', 'rater', store);
    const opened = await openReview(app, made.session, 'R1');
    await send();
    expect(sent()).toEqual({ state: 'not sent', why: 'continued on another machine' });
    expect(await app.library.log(id, 'R1')).toBeNull();
    await opened.close();
  });

  test('a review that is opened while entries of another machine come in waits for them', async ({
    study: { store, app, made, id, ofR1 },
  }) => {
    await sendLog(store, ofR1, { seen: 0, signedOff: false });
    await signIn(app, 'R1', 'rater', store);
    let opening: ReturnType<typeof openReview> | null = null;
    const library: App['library'] = {
      ...app.library,
      addLog: log => {
        opening ??= openReview(app, made.session, 'R1');
        return app.library.addLog(log);
      },
    };
    await sendOwnLog({ ...app, library }, app.labStore, id, null);
    const opened = await opening!;
    expect(opened.review.get().access.writable).toBe(true);
    expect(opened.review.get().log.entries.length).toBe(6);
    await opened.close();
  });

  test('a review that was finished on another machine is signed off by whoever takes it in', async ({
    study: { store, app, id, ofR1, ofR2, sent, send },
  }) => {
    await sendLog(store, ofR2, { seen: 0, signedOff: false });
    await signOffLog(store, ofR2, '2026-02-14T09:00:00.000Z');
    await sendLog(store, ofR1, { seen: 0, signedOff: false });
    await signIn(app, 'R1', 'rater', store);
    await send();
    expect(sent()).toEqual({ state: 'sent', entries: 6 });
    expect(store.files.has(`done/R1/${id}.json`)).toBe(true);
    expect([...(await app.library.raters(id))].sort()).toEqual(['R1', 'R2']);
  });

  test('what was done on another machine is here before the session can be opened', async ({
    study: { store, app, id, ofR1 },
  }) => {
    await sendLog(store, beginning(ofR1, 4), { seen: 0, signedOff: false });
    await app.library.removeSession(id);
    let online = true;
    const poor = unsteady(store, () => (online ? 'no' : 'request'));
    const breaking: RemoteStore = {
      ...poor,
      list: path => {
        // The connection breaks when the review is asked for.
        if (path.startsWith('logs/')) online = false;
        return poor.list(path);
      },
    };
    await signIn(app, 'R1', 'rater', store);
    app.labStore.store.setState(s => ({ signedIn: { ...s.signedIn!, remote: breaking } }));
    await expect(fetchAssigned(app, app.labStore, id)).rejects.toThrow();
    expect(await app.library.session(id)).toBeNull();
    app.labStore.store.setState(s => ({ signedIn: { ...s.signedIn!, remote: store } }));
    await fetchAssigned(app, app.labStore, id);
    expect((await app.library.log(id, 'R1'))!.entries.length).toBe(4);
  });

  test('a settlement that was begun on another machine goes on here', async ({
    study: { store, app, made, id, sent, send },
  }) => {
    const begun = append(newLog(logHeader(made.session, 'A1', 'adjudicator')), {
      at: '2026-02-14T09:00:00.000Z',
      recording: 'chest-band',
      intent: 'settle',
      change: [],
    }).log;
    await sendLog(store, begun, { seen: 0, signedOff: false });
    await signIn(app, 'A1', 'rater', store);
    await send();
    expect((await app.library.log(id, 'A1'))!.header.role).toBe('adjudicator');
    expect(sent()).toEqual({ state: 'sent', entries: 1 });
  });

  test('what was signed off in another tab takes later entries all the same', async ({
    study: { store, app, id, ofR1, board, sent, send },
  }) => {
    const refusing: RemoteStore = {
      folder: path => store.folder(path),
      list: path => store.list(path),
      read: (path, range) => store.read(path, range),
      async create(path, bytes) {
        // As the server does once the log is signed off.
        if (path.startsWith('logs/R1/') && store.files.has(`done/R1/${id}.json`))
          throw new RemoteError('refused', path);
        return store.create(path, bytes);
      },
    };
    await sendLog(store, ofR1, { seen: 0, signedOff: false });
    await app.library.addLog(ofR1);
    await signIn(app, 'R1', 'rater', refusing);
    await signOffLog(store, ofR1, '2026-02-14T09:00:00.000Z');
    const at = '2026-02-15T09:00:00.000Z';
    await app.library.addLog(append(ofR1, { at, recording: 'chest-band', intent: 'look', change: [] }).log);
    await send();
    expect(sent()).toEqual({ state: 'sent', entries: 7 });
    expect((await board()).find(l => l.rater === 'R1')).toMatchObject({ signedOffEntries: 6, later: 1 });
  });

  test('a session that was removed is not said to be unsent any more', async ({
    study: { store, app, id, sent, send },
  }) => {
    await signIn(app, 'R1', 'rater', store);
    app.labStore.store.setState({ sent: { [id]: { state: 'not sent', why: 'offline' } } });
    expect(unsentSessions(app.labStore.store.getState())).toEqual([id]);
    await app.library.removeSession(id);
    await send();
    expect(sent()).toBeUndefined();
    expect(unsentSessions(app.labStore.store.getState())).toEqual([]);
  });

  test('a fork is reported to the rater and on the board; the branch that is chosen counts', async ({
    study: { store, app, ofR1, supervisor, board, sent, send, told },
  }) => {
    const at = '2026-02-14T09:00:00.000Z';
    const other = append(beginning(ofR1, 3), { at, recording: 'chest-band', intent: 'look', change: [] }).log;
    await sendLog(store, other, { seen: 0, signedOff: false });
    await signIn(app, 'R1', 'rater', store);
    await app.library.addLog(ofR1);
    await send();
    expect(sent()).toEqual({ state: 'not sent', why: 'forked', settle: true });
    expect(told()).toContain('two machines');
    const line = (await board()).find(l => l.rater === 'R1')!;
    expect(line.branches.map(b => b.entries)).toEqual([6, 4]);
    await chooseBranch(app, supervisor, line, line.branches[0]!);
    await send();
    expect(sent()).toEqual({ state: 'sent', entries: 6 });
    const chosen = (await board()).find(l => l.rater === 'R1')!;
    expect(chosen.branches.map(b => b.entries)).toEqual([6]);
    expect(chosen.passedOver.map(b => b.entries)).toEqual([4]);
    expect(needsSupervisor(chosen)).toBe(false);
    expect(chosen).toMatchObject({ signedOffEntries: 6, progress: { entries: 6 } });
  });

  test('the branch that counts is compared and taken in; what was signed off on another one is not', async ({
    study: { store, app, id, ofR1, ofR2, supervisor },
  }) => {
    const at = '2026-02-14T09:00:00.000Z';
    const other = append(beginning(ofR1, 3), { at, recording: 'chest-band', intent: 'look', change: [] }).log;
    for (const log of [ofR1, other, ofR2]) {
      if (log === other) await store.create(...chunkOfBranch(other, 3));
      else await sendLog(store, log, { seen: 0, signedOff: false });
    }
    await signOffLog(store, ofR1, at);
    await signOffLog(store, ofR2, at);
    const memory = newBoardMemory();
    const look = async () => {
      const lines = await readBoard(app.library, supervisor, memory);
      return { lines, line: lines.find(l => l.rater === 'R1')! };
    };
    const forked = (await look()).line;
    expect(forked.branches.map(b => b.entries)).toEqual([6, 4]);
    await chooseBranch(app, supervisor, forked, forked.branches[1]!);
    const wrong = await look();
    expect(wrong.line.problems).toEqual(['what was signed off is not on the branch that counts']);
    expect(wrong.line.agreement).toBeNull();
    expect(await takeSignedOff(app.library, supervisor, wrong.lines)).toBe(1);
    expect(await app.library.raters(id)).toEqual(['R2']);
    // Chosen by mistake: the other one may still be.
    await chooseBranch(app, supervisor, wrong.line, wrong.line.passedOver[0]!);
    const right = await look();
    expect(right.line.problems).toEqual([]);
    expect(right.line.agreement!.f1.value).not.toBeNull();
    expect(await takeSignedOff(app.library, supervisor, right.lines)).toBe(1);
    expect((await app.library.log(id, 'R1'))!.entries.length).toBe(6);
  });

  test('a stored log that became shorter is reported and not sent again in silence', async ({
    study: { store, app, ofR1, sent, send, told },
  }) => {
    await signIn(app, 'R1', 'rater', store);
    await app.library.addLog(beginning(ofR1, 4));
    await send();
    for (const path of [...store.files.keys()]) if (path.startsWith('logs/R1/')) store.files.delete(path);
    await send();
    expect(sent()).toEqual({ state: 'not sent', why: 'the stored copy became shorter' });
    expect(told()).toContain('once held 4 entries');
  });

  test('what comes in after somebody else has signed in is not taken for theirs', async ({ study: { store, app } }) => {
    let answer: () => void = () => undefined;
    const held = new Promise<void>(resolve => {
      answer = resolve;
    });
    const slow: RemoteStore = {
      create: (path, bytes) => store.create(path, bytes),
      folder: path => store.folder(path),
      read: (path, range) => store.read(path, range),
      list: async path => held.then(() => store.list(path)),
    };
    await signIn(app, 'R1', 'rater', store);
    app.labStore.store.setState(s => ({ signedIn: { ...s.signedIn!, remote: slow }, assignments: [] }));
    const looking = app.labStore.refresh();
    app.labStore.signOut();
    await signIn(app, 'R3', 'rater', store);
    answer();
    await looking;
    expect(app.labStore.store.getState().assignments).toEqual([]);
  });

  test('who signs off and leaves does not sign off for who comes next', async ({
    study: { store, app, ofR1, send },
  }) => {
    await app.library.addLog(ofR1);
    await signIn(app, 'R1', 'rater', store);
    const leaving: RemoteStore = {
      create: async (path, bytes) => {
        const made = await store.create(path, bytes);
        if (path.startsWith('done/')) await signIn(app, 'R2', 'rater', store);
        return made;
      },
      folder: path => store.folder(path),
      read: (path, range) => store.read(path, range),
      list: path => store.list(path),
    };
    app.labStore.store.setState(s => ({ signedIn: { ...s.signedIn!, remote: leaving } }));
    await send();
    expect(app.labStore.store.getState().signedIn!.user).toBe('R2');
    expect(app.labStore.store.getState().signedOff.size).toBe(0);
  });
});
