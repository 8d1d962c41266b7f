import { beforeEach, describe, expect, test, vi } from 'vitest';
import type { SampleArray } from '../../../../src/core/recording/recording';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { bytesSource } from '../../../../src/formats/bytes/source';
import type { RemoteStore } from '../../../../src/remote/remote-store';
import { sendSession } from '../../../../src/remote/session-parts';
import { assign, makeStudyFolders, readAssignments } from '../../../../src/remote/study';
import type { App } from '../../../../src/state/app';
import { openComparing } from '../../../../src/state/compare/comparing';
import { openReview } from '../../../../src/state/review/opening';
import { fetchAssigned } from '../../../../src/state/sharing/fetching';
import { removeFetchedParts, sessionsFetchedInPart } from '../../../../src/storage/fetched-parts';
import { madeSession } from '../../formats/bundle/reviewed';
import { MemoryStore } from '../../remote/memory-store';
import { createPage } from '../page';

/** An hour of four leads: two parts. */
const made = madeSession([], 3600, 'V01-hour');
const wholeBundle = writeBundle(made.reviewed, made.leads, { level: 0 });

describe('an assigned session that is fetched', () => {
  let app: App;
  let store: MemoryStore;
  /** Parts asked for as a whole, in order; they wait while `held`. */
  let parts: string[];
  let held: Promise<void> | null;
  let release: () => void;
  const id = () => made.reviewed.session.id;

  beforeEach(async () => {
    app = createPage();
    // The store in memory is one for all tests of a file.
    await app.library.removeSession(id());
    await removeFetchedParts(id());
    store = new MemoryStore();
    await makeStudyFolders(store, ['R1']);
    const bundle = bytesSource('s.zip', wholeBundle);
    const manifest = await sendSession(store, made.reviewed.session, bundle);
    await assign(store, 'R1', {
      session: id(),
      manifest,
      place: 'first',
      due: null,
      assignedAt: '2026-02-14T10:00:00Z',
    });
    parts = [];
    held = null;
    await signIn();
  });

  async function signIn(): Promise<void> {
    const remote: RemoteStore = {
      create: (path, bytes) => store.create(path, bytes),
      folder: path => store.folder(path),
      list: path => store.list(path),
      async read(path, range) {
        if (path.endsWith('.part') && !range) {
          parts.push(path);
          await held;
        }
        return store.read(path, range);
      },
    };
    const assignments = await readAssignments(remote, 'R1');
    app.labStore.store.setState({ signedIn: { study: 'trial-1', user: 'R1', role: 'rater', remote }, assignments });
  }

  const inTime = (holds: () => void) => vi.waitFor(holds, { timeout: 200_000 });
  const hold = () => {
    held = new Promise(resolve => {
      release = resolve;
    });
  };
  // However slow the machine, parts are asked for behind the strip's first words.
  const fetchIt = () => fetchAssigned(app, app.labStore, id(), 600_000);
  const done = () => inTime(() => expect(app.labStore.store.getState().fetching.size).toBe(0));
  const notices = () =>
    app.ui
      .getState()
      .notices.map(n => n.text)
      .join('\n');
  /** Reads as the strip does; the rest is fetched once the first words are here. */
  const words = async (start: number, end: number): Promise<SampleArray> =>
    app.arriving.leads(id())!.get('chest-band')![0]!.samples.read(start, end);

  test('is opened by ranges, and nothing is said about a page that is not here', async () => {
    hold();
    await fetchIt();
    expect(parts).toEqual([]);
    expect((await app.library.leads(made.reviewed.session)).absent).toHaveLength(4);
    const opened = await openReview(app, made.reviewed.session, 'R1');
    expect(notices()).toBe('');
    const admit = () => opened.gate.admit('chest-band', 'accept', []);
    expect(admit()).toMatchObject({ refused: expect.stringContaining('has not arrived yet') });
    await inTime(() => expect(opened.onScreen!()).toBe(true));
    expect(admit()).toEqual([]);
    expect([...(await words(2000, 2100))]).toEqual([...made.leads('chest-band', 0).slice(2000, 2100)]);
    release();
    await done();
    expect(notices()).toContain('all signals are kept in this browser');
    expect((await app.library.leads(made.reviewed.session)).absent).toEqual([]);
    // The open review reads from this browser now.
    await inTime(() => expect(opened.signals.source('chest-band', 0)!.pyramid.levels.length).toBeGreaterThan(1));
    expect((await sessionsFetchedInPart()).has(id())).toBe(false);
    await opened.close();
  });

  test('is read from this browser where the last of it came while it was opened', async () => {
    hold();
    await fetchIt();
    await words(0, 10);
    const leads: typeof app.library.leads = async session => {
      const before = await app.library.leads(session);
      release();
      await done();
      return before;
    };
    const opened = await openReview({ ...app, library: { ...app.library, leads } }, made.reviewed.session, 'R1');
    expect(notices()).not.toContain('No signal is stored');
    expect(opened.onScreen).toBeUndefined();
    expect(opened.signals.source('chest-band', 0)!.pyramid.levels.length).toBeGreaterThan(1);
    await opened.close();
  });

  test('is shown in a review that was opened before anything was on its way', async () => {
    await app.library.saveSession(made.reviewed.session);
    const opened = await openReview(app, made.reviewed.session, 'R1');
    expect(notices()).toContain('No signal is stored');
    expect(opened.signals.source('chest-band', 0)).toBeUndefined();
    await fetchIt();
    await words(0, 10);
    await inTime(() => expect(opened.signals.source('chest-band', 0)!.pyramid.levels.length).toBeGreaterThan(1));
    await opened.close();
    await done();
  });

  test('is shown where it is settled, and nothing is decided about a page that is not here', async () => {
    hold();
    await fetchIt();
    const viewer = { rater: 'A1', role: 'adjudicator' } as const;
    const opened = await openComparing(app, made.reviewed.session, viewer);
    const admit = (intent: 'settle' | 'comment') => opened.gate.admit('chest-band', intent, []);
    // What both agree on passes through first.
    for (const { recording } of made.reviewed.session.recordings) {
      expect(admit('settle')).toEqual([]);
      opened.review.act({ recording: recording.id, intent: 'settle', change: [] });
    }
    expect(admit('settle')).toMatchObject({ refused: expect.stringContaining('has not arrived yet') });
    expect(admit('comment')).toEqual([]);
    await inTime(() => expect(opened.onScreen!()).toBe(true));
    expect(admit('settle')).toEqual([]);
    release();
    await done();
    await inTime(() => expect(opened.signals.source('chest-band', 0)!.pyramid.levels.length).toBeGreaterThan(1));
    await opened.close();
  });

  test('goes on where it was when the person comes back', async () => {
    hold();
    await fetchIt();
    await words(0, 10);
    await inTime(() => expect(parts).toHaveLength(1));
    const first = parts[0]!;
    // Signed out while the first part is on its way: that one is kept, and no other asked for.
    app.labStore.signOut();
    release();
    await inTime(() => expect(notices()).toMatch(/was stopped\. 4 of \d+ MB are kept/));
    expect((await sessionsFetchedInPart()).has(id())).toBe(true);
    await signIn();
    parts = [];
    held = null;
    await fetchIt();
    await words(0, 10);
    await done();
    expect(parts).toHaveLength(1);
    expect(parts).not.toContain(first);
    expect((await app.library.leads(made.reviewed.session)).absent).toEqual([]);
  });

  const roomOf = (megabytes: number) =>
    vi.stubGlobal('navigator', {
      locks: navigator.locks,
      storage: { estimate: async () => ({ usage: 0, quota: megabytes * 2 ** 20 }) },
    });

  /** Fetches the first part, and then has so much room for the second. */
  async function secondPartWithRoom(megabytes: number): Promise<void> {
    hold();
    await fetchIt();
    await words(0, 10);
    await inTime(() => expect(parts).toHaveLength(1));
    roomOf(megabytes);
  }

  test('stopped by hand where there is little room, it gives up nothing of what it has', async () => {
    await secondPartWithRoom(1);
    app.ui.getState().jobs[0]!.cancel!();
    release();
    await done();
    expect(notices()).toMatch(/was stopped\. 4 of \d+ MB are kept/);
  });

  test('parts are given up only where the reviews of this browser have no room left', async () => {
    await secondPartWithRoom(33);
    release();
    await done();
    expect(notices()).toMatch(/33 MB are left\).* 4 of \d+ MB are kept/);
    await signIn();
    parts = [];
    roomOf(1);
    await fetchIt();
    await words(0, 10);
    await done();
    expect(notices()).toMatch(/1 MB are left\).* 0 of \d+ MB are kept/);
    expect(parts).toEqual([]);
  });

  test('how much is kept already is shown as soon as it goes on', async () => {
    await secondPartWithRoom(1);
    app.ui.getState().jobs[0]!.cancel!();
    release();
    await done();
    roomOf(1000);
    await signIn();
    await fetchIt();
    // Nobody has asked for the strip's first words, and it is shown all the same.
    await inTime(() => expect(app.ui.getState().jobs[0]?.share).toBeGreaterThan(0.4));
    await words(0, 10);
    await done();
    expect(notices()).toContain('all signals are kept in this browser');
  });

  test('a browser without room says so, and keeps the session and its review', async () => {
    vi.stubGlobal('navigator', {
      locks: navigator.locks,
      storage: { estimate: async () => ({ usage: 10 * 2 ** 20, quota: 20 * 2 ** 20 }) },
    });
    await fetchIt();
    await words(0, 10);
    await done();
    expect(parts).toEqual([]);
    expect(notices()).toMatch(
      /no room left for this page \(\d+ MB are needed and 10 MB are left\)\..*no review is touched/,
    );
    expect(await app.library.session(id())).toEqual(made.reviewed.session);
    expect(await words(500, 510)).toHaveLength(10);
  });

  test('where it is without its signals, it asks for the practice that the stored one asks for', async () => {
    const { reviewed, leads } = made;
    const requiredPractice = [{ passPercent: 70, difficulty: 3 }] as const;
    const session = { ...reviewed.session, requiredPractice };
    const bundle = bytesSource('s.zip', writeBundle({ session, logs: [] }, leads, { level: 0 }));
    const manifest = await sendSession(store, session, bundle);
    app.labStore.store.setState(s => ({ assignments: s.assignments.map(a => ({ ...a, manifest })) }));
    await app.library.saveSession(reviewed.session);
    await fetchIt();
    expect((await app.library.session(id()))!.requiredPractice).toEqual(requiredPractice);
    await words(0, 10);
    await done();
  });

  test('removed while it is fetched, nothing of it stays', async () => {
    hold();
    await fetchIt();
    await words(0, 10);
    await inTime(() => expect(parts).toHaveLength(1));
    await app.library.removeSession(id());
    release();
    await done();
    expect(await app.library.session(id())).toBeNull();
    expect((await sessionsFetchedInPart()).has(id())).toBe(false);
    expect(notices()).toBe('');
  });
});
