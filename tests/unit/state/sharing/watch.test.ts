import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { append, newLog } from '../../../../src/core/marks/log';
import { logHeader } from '../../../../src/core/review/session';
import { sendLog } from '../../../../src/remote/send-log';
import { openReview } from '../../../../src/state/review/opening';
import type { ReviewWorkspace } from '../../../../src/state/review/workspace';
import { unsentSessions } from '../../../../src/state/sharing/lab-store';
import { chooseBranch } from '../../../../src/state/sharing/supervising';
import { watchLabStore } from '../../../../src/state/sharing/watch';
import { type Study, signIn, startStudy } from './study';

/** The clock is turned by hand; the store and the review are the page's own. */
let study: Study;
let opened: ReviewWorkspace;

beforeEach(async () => {
  study = await startStudy();
  vi.stubGlobal('window', new EventTarget());
  vi.useFakeTimers();
  const { app, made, store } = study;
  watchLabStore(app);
  await signIn(app, 'R1', 'rater', store);
  await vi.waitFor(() => expect(study.sent()).toEqual({ state: 'sent', entries: 0 }));
  opened = await openReview(app, made.session, 'R1');
  app.workspace.setState({ workspace: opened });
});

afterEach(async () => {
  study.app.workspace.setState({ workspace: null });
  await opened.close();
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

function tab(visibilityState: DocumentVisibilityState): void {
  vi.stubGlobal('document', { visibilityState });
  window.dispatchEvent(new Event('visibilitychange'));
}

/** How the review stands once it has been looked at again. */
async function afterComingBack() {
  let asked = false;
  const stop = study.app.labStore.store.subscribe(() => {
    asked ||= study.sent()?.state === 'sending';
  });
  tab('visible');
  await vi.waitFor(() => {
    expect(asked).toBe(true);
    expect(study.sent()?.state).not.toBe('sending');
  });
  stop();
  return study.sent();
}

const chunks = () => [...study.store.files.keys()].filter(path => path.startsWith('logs/R1/')).length;

async function accept(): Promise<void> {
  const change = [{ op: 'marks' as const, removed: [], added: [] }];
  opened.review.act({ recording: 'chest-band', intent: 'accept', change });
  await opened.review.settled();
}

test('what is saved and not sent yet is not called sent', async () => {
  await accept();
  expect(study.sent()).toEqual({ state: 'sending' });
  expect(unsentSessions(study.app.labStore.store.getState())).toEqual([study.id]);
  await vi.advanceTimersByTimeAsync(2500);
  expect(study.sent()).toEqual({ state: 'sent', entries: 1 });
  expect(unsentSessions(study.app.labStore.store.getState())).toEqual([]);
});

test('who never pauses sends now and then all the same', async () => {
  for (let i = 0; i < 18; i++) {
    await accept();
    await vi.advanceTimersByTimeAsync(1200);
  }
  expect(chunks()).toBeGreaterThan(0);
});

test('a review that is left is sent at once', async () => {
  await accept();
  study.app.workspace.setState({ workspace: null });
  await vi.advanceTimersByTimeAsync(50);
  expect(chunks()).toBe(1);
});

test('while the code that sends cannot be fetched, only what is here is called unsent', async () => {
  const { store } = study.app.labStore;
  vi.doMock('../../../../src/state/sharing/own-logs', () => {
    throw new Error('not fetched');
  });
  store.setState(s => ({ assignments: [...s.assignments, { ...s.assignments[0]!, session: 'never-fetched' }] }));
  await accept();
  await vi.advanceTimersByTimeAsync(2500);
  await vi.waitFor(() => expect(study.sent()).toEqual({ state: 'not sent', why: 'offline' }));
  expect(unsentSessions(store.getState())).toEqual([study.id]);
  vi.doUnmock('../../../../src/state/sharing/own-logs');
});

test('what was about to be sent when its session was removed is not called unsent any more', async () => {
  await accept();
  expect(study.sent()).toEqual({ state: 'sending' });
  await study.app.library.removeSession(study.id);
  await vi.advanceTimersByTimeAsync(2500);
  await vi.waitFor(() => expect(study.sent()).toBeUndefined());
});

test('what waits for a pause is sent when the tab is left', async () => {
  await accept();
  tab('hidden');
  // Each look turns the clock by 50 ms: far less than the pause in all.
  await vi.waitFor(() => expect(study.sent()).toEqual({ state: 'sent', entries: 1 }));
  expect(chunks()).toBe(1);
});

test('a choice between two machines is looked for when somebody comes back to the tab, and said once', async () => {
  const { app, store, supervisor, made } = study;
  const other = append(newLog(logHeader(made.session, 'R1')), {
    at: '2026-02-14T09:00:00.000Z',
    recording: 'chest-band',
    intent: 'look',
    change: [],
  }).log;
  await sendLog(store, other, { seen: 0, signedOff: false });
  await accept();
  await vi.advanceTimersByTimeAsync(2500);
  const forked = { state: 'not sent', why: 'forked', settle: true };
  await vi.waitFor(() => expect(study.sent()).toEqual(forked));
  expect(study.told()).toContain('two machines');
  app.ui.setState({ notices: [] });
  expect(await afterComingBack()).toEqual(forked);
  expect(study.told()).toBe('');
  const line = (await study.board()).find(l => l.rater === 'R1')!;
  const own = opened.review.get().log.entries.at(-1)!.hash;
  await chooseBranch(app, supervisor, line, line.branches.find(b => b.head === own)!);
  expect(await afterComingBack()).toEqual({ state: 'sent', entries: 1 });
});
