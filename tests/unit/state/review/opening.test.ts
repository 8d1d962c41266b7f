import { afterEach, describe, expect, test, vi } from 'vitest';
import { newLog } from '../../../../src/core/marks/log';
import { logHeader } from '../../../../src/core/review/session';
import { openComparing } from '../../../../src/state/compare/comparing';
import { openPractice } from '../../../../src/state/practice/practice';
import { openReview } from '../../../../src/state/review/opening';
import { whyNotSettle } from '../../../../src/state/review/visibility';
import { isOpenSomewhere, lockSession } from '../../../../src/storage/locks';
import { beginningOf, bundleOf, createPage } from '../page';

const page = createPage();

afterEach(() => vi.restoreAllMocks());

async function isFree(session: string, rater: string): Promise<boolean> {
  const lock = await lockSession(session, rater);
  lock.release();
  return lock.held;
}

describe('an opening that fails lets go of its lock', () => {
  test('of a review, when the signals cannot be found', async () => {
    const { file, session } = beginningOf('broken', 2);
    await page.importFiles([file]);
    const find = vi.spyOn(page.library, 'leads').mockRejectedValueOnce(new Error('the disk is gone'));
    await expect(openReview(page, session, 'R1')).rejects.toThrow('the disk is gone');
    expect(find).toHaveBeenCalledOnce();
    expect(await isFree('broken', 'R1')).toBe(true);
    const opened = await openReview(page, session, 'R1');
    expect(opened.review.get().access.writable).toBe(true);
    expect(await isFree('broken', 'R1')).toBe(false);
    await opened.close();
    expect(await isFree('broken', 'R1')).toBe(true);
  });

  test('of a review, when the code settles differences here', async () => {
    const { file, session } = bundleOf('settled');
    await page.importFiles([file]);
    await page.library.addLog(newLog(logHeader(session, 'S1', 'adjudicator')));
    await expect(openReview(page, session, 'S1')).rejects.toThrow('S1 settles differences in this session');
    expect(await isFree('settled', 'S1')).toBe(true);
  });

  test('of a comparison', async () => {
    const { file, session } = bundleOf('compared', ['R1', 'R2']);
    await page.importFiles([file]);
    const viewer = { rater: 'S1', role: 'adjudicator' } as const;
    vi.spyOn(page.library, 'leads').mockRejectedValueOnce(new Error('the disk is gone'));
    await expect(openComparing(page, session, viewer)).rejects.toThrow('the disk is gone');
    expect(await isFree('compared', 'S1')).toBe(true);
    const opened = await openComparing(page, session, viewer);
    expect(opened.comparing.raters().map(l => l.header.rater)).toEqual(['R1', 'R2']);
    expect(opened.review.get().access.writable).toBe(true);
    await opened.close();
  });

  test('of a lesson', async () => {
    const task = { from: 'seed', id: 'missed-peaks', difficulty: 1, seed: 'unit' } as const;
    vi.spyOn(page.library, 'views').mockResolvedValue({
      get: () => Promise.resolve(null),
      put: () => Promise.resolve(),
      remove: () => Promise.resolve(),
      list: () => Promise.resolve([]),
    });
    vi.spyOn(page.library, 'database').mockRejectedValueOnce(new Error('the disk is gone'));
    await expect(openPractice(page, task, 'L1')).rejects.toThrow('the disk is gone');
    const opened = await openPractice(page, task, 'L1');
    expect(opened.review.get().access.writable).toBe(true);
    await opened.close();
    expect(await isFree(opened.review.get().session.id, 'L1')).toBe(true);
  });
});

describe('a code in other letters', () => {
  test('does not begin a second review unawares, nor settle what its person has rated', async () => {
    const { file, session } = bundleOf('letters', ['R1', 'R2']);
    await page.importFiles([file]);
    page.ui.setState({ notices: [] });
    const own = await openReview(page, session, 'R1');
    expect(page.ui.getState().notices).toEqual([]);
    await own.close();
    const typed = await openReview(page, session, 'r1');
    const { text } = page.ui.getState().notices.at(-1)!;
    expect(text).toContain('This is a new review by r1. The one stored here is by R1');
    await typed.close();
    expect(await whyNotSettle(page.library, session, 'r1', 'S1')).toContain('R1 has rated this session');
    expect(await whyNotSettle(page.library, session, 'R2.2', 'S1')).toContain('R2 has rated this session');
    expect(await whyNotSettle(page.library, session, 'S1', 'S1')).toBe(null);
    page.ui.setState({ notices: [] });
  });

  test('that belongs to an account is corrected after signing out', async () => {
    const { file, session } = bundleOf('account', ['R1']);
    await page.importFiles([file]);
    page.ui.setState({ notices: [] });
    page.prefs.signedInAs('r1');
    const opened = await openReview(page, session, 'r1');
    await opened.close();
    page.prefs.signedInAs(null);
    const [notice] = page.ui.getState().notices;
    expect(notice?.text).toContain('If you are R1, sign out of the lab store, then correct your code');
    page.ui.setState({ notices: [] });
  });

  test('does not open the others’ work to whoever is still rating', async () => {
    const { file, session } = beginningOf('still', 2);
    await page.importFiles([file]);
    const why = 'R1 is still rating this session';
    for (const rating of ['R1', 'r1', 'R1.2'])
      expect(await whyNotSettle(page.library, session, 'S1', rating)).toContain(why);
    expect(await whyNotSettle(page.library, session, 'S1', 'R2')).toBe(null);
  });
});

describe('an opened review', () => {
  test('is read along in a second tab, and comes back where it was left', async () => {
    const { file, session } = beginningOf('left', 1);
    await page.importFiles([file]);
    const first = await openReview(page, session, 'R1');
    const second = await openReview(page, session, 'R1');
    expect(second.review.get().access).toEqual({
      writable: false,
      why: 'this review is open for writing in another tab',
    });
    await second.close();
    first.view.setState({ recordingId: 'adhesive-logger', mmPerSecond: 50, startSeconds: 12 });
    await first.close();
    const again = await openReview(page, session, 'R1');
    expect(again.view.getState()).toMatchObject({ recordingId: 'adhesive-logger', mmPerSecond: 50, startSeconds: 12 });
    await again.close();
  });

  test('is open for writing again at once, while what it was left with is still on its way to the disk', async () => {
    const { file, session } = beginningOf('left-at-once', 1);
    await page.importFiles([file]);
    const first = await openReview(page, session, 'R1');
    const closing = first.close();
    const again = await openReview(page, session, 'R1');
    expect(again.review.get().access.writable).toBe(true);
    const closingAgain = again.close();
    expect(await isOpenSomewhere(session.id)).toBe(false);
    await Promise.all([closing, closingAgain]);
  });

  test('that was read along until the other tab closed is open for writing when it is opened again at once', async () => {
    const { file, session } = beginningOf('read-along', 1);
    await page.importFiles([file]);
    let closeOther: () => void = () => undefined;
    const other = navigator.locks.request(`beat-ledger/${session.id}/R1`, {}, () => {
      return new Promise<void>(resolve => {
        closeOther = resolve;
      });
    });
    const second = await openReview(page, session, 'R1');
    closeOther();
    await other;
    await vi.waitFor(() =>
      expect(
        page.ui
          .getState()
          .notices.map(n => n.text)
          .join(),
      ).toContain('The other tab closed'),
    );
    const closing = second.close();
    const again = await openReview(page, session, 'R1');
    expect(again.review.get().access.writable).toBe(true);
    await closing;
    await again.close();
  });

  test('left before it was there is not in the way of the next', async () => {
    const { file, session } = beginningOf('left-early', 1);
    await page.importFiles([file]);
    const left = new AbortController();
    const opening = openReview(page, session, 'R1', left.signal).then(opened => opened.close());
    left.abort();
    const again = await openReview(page, session, 'R1');
    expect(again.review.get().access.writable).toBe(true);
    await opening;
    await again.close();
  });

  test('keeps every entry, and says what could not be kept', async () => {
    const { file, session } = beginningOf('kept', 0);
    await page.importFiles([file]);
    const opened = await openReview(page, session, 'R1');
    const change = [{ op: 'marks', removed: [], added: [77] }] as never;
    expect(opened.review.act({ recording: 'chest-band', intent: 'insert', change })).toBe(true);
    await opened.review.settled();
    expect((await page.library.log('kept', 'R1'))?.entries).toEqual(opened.review.get().log.entries);
    vi.spyOn(page.library, 'saveEntry').mockRejectedValueOnce(new Error('no room is left'));
    expect(opened.review.undo()).toBe(true);
    await opened.review.settled();
    expect(opened.review.get().saving).toEqual({ waiting: 1, failure: 'no room is left' });
    opened.review.retry();
    await opened.review.settled();
    expect(opened.review.get().saving).toEqual({ waiting: 0, failure: null });
    await opened.close();
    expect((await page.library.log('kept', 'R1'))?.entries).toHaveLength(2);
  });
});
