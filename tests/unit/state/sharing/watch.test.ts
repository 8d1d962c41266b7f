import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { openReview } from '../../../../src/state/review/opening';
import type { ReviewWorkspace } from '../../../../src/state/review/workspace';
import { unsentSessions } from '../../../../src/state/sharing/lab-store';
import { watchLabStore } from '../../../../src/state/sharing/watch';
import { type Study, signIn, startStudy } from './study';

/** The clock is turned by hand; the store and the review are the page's own. */
let study: Study;
let opened: ReviewWorkspace;

beforeEach(async () => {
  study = await startStudy();
  vi.stubGlobal('window', { addEventListener: () => undefined });
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
