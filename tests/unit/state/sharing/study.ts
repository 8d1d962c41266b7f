import { test as base } from 'vitest';
import type { EditLog } from '../../../../src/core/marks/log';
import type { RemoteStore } from '../../../../src/remote/remote-store';
import { readAssignments } from '../../../../src/remote/study';
import type { App } from '../../../../src/state/app';
import type { ReviewStore } from '../../../../src/state/review/review-store';
import { newBoardMemory, readBoard } from '../../../../src/state/sharing/board';
import type { SignedIn, StoreRole } from '../../../../src/state/sharing/lab-store';
import { sendOwnLog } from '../../../../src/state/sharing/own-logs';
import { type AssignedBatch, assignBatch } from '../../../../src/state/sharing/supervising';
import { MemoryStore } from '../../remote/memory-store';
import { bundleOf, createPage } from '../page';

/** One browser, in which people sign in one after the other; each study has a session of its own. */
let count = 0;

export async function signIn(app: App, user: string, role: StoreRole, remote: RemoteStore): Promise<SignedIn> {
  const signedIn = { study: 'trial-1', user, role, remote };
  app.labStore.signOut();
  app.labStore.store.setState({ signedIn });
  if (role === 'rater') app.labStore.store.setState({ assignments: await readAssignments(remote, user) });
  return signedIn;
}

export type Study = Awaited<ReturnType<typeof startStudy>>;

/** A session that R1 and R2 rate and A1 settles; their finished reviews are here and were not sent. */
export async function startStudy() {
  const store = new MemoryStore();
  const app = createPage();
  const made = bundleOf(`V${++count}-am`, ['R1', 'R2']);
  const { id } = made.session;
  const [ofR1, ofR2] = made.logs as [EditLog, EditLog];
  await app.importFiles([bundleOf(id, []).file]);
  const supervisor = await signIn(app, 'boss', 'supervisor', store);
  const batch: AssignedBatch = {
    sessions: [id],
    raters: ['R1', 'R2'],
    settler: 'A1',
    doubleShare: 1,
    seed: 3,
    due: '2026-03-01',
    calibration: false,
  };
  await assignBatch(app, supervisor, batch);
  return {
    store,
    app,
    made,
    id,
    ofR1,
    ofR2,
    supervisor,
    batch,
    board: () => readBoard(app.library, supervisor, newBoardMemory()),
    sent: () => app.labStore.store.getState().sent[id],
    /** `open`: the review on the screen. */
    send: (open: ReviewStore | null = null) => sendOwnLog(app, app.labStore, id, open),
    told: () =>
      app.ui
        .getState()
        .notices.map(n => n.text)
        .join(),
  };
}

/** A test that has a study of its own. */
export const test = base.extend<{ study: Study }>({
  study: async ({ task: _ }, use) => use(await startStudy()),
});

export function beginning(log: EditLog, entries: number): EditLog {
  return { header: log.header, entries: log.entries.slice(0, entries) };
}
