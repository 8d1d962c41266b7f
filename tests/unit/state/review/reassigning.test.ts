import { describe, expect, test } from 'vitest';
import { append, type EditLog, newLog, replay, verifyChain } from '../../../../src/core/marks/log';
import { raterLabel, unblindedDraft } from '../../../../src/core/review/raters/blind';
import { detectedOf, logHeader, type Session } from '../../../../src/core/review/session';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { openReview } from '../../../../src/state/review/opening';
import { reassignReview } from '../../../../src/state/review/reassigning';
import { saveUnblinding } from '../../../../src/state/review/unblinding';
import { lockSession } from '../../../../src/storage/locks';
import { madeSession } from '../../formats/bundle/reviewed';
import { beginningOf, createPage } from '../page';

const page = createPage();
const begun = 3;

/** A page that holds R1's review as far as it was done, opened. */
async function opened(id: string, raters: readonly string[] = ['R1']) {
  const { file, session, logs } = beginningOf(id, begun, raters);
  await page.importFiles([file]);
  page.prefs.change({ rater: 'R1' });
  return { session, log: logs[0]!, file, workspace: await openReview(page, session, 'R1') };
}

function fileWith(id: string, logs: readonly EditLog[], session?: Session): File {
  const made = madeSession([], 60, id);
  return new File([writeBundle({ session: session ?? made.reviewed.session, logs }, made.leads)], `${id}.zip`);
}

const marksOf = (session: Session, log: EditLog) =>
  [...replay(log, detectedOf(session)).recordings.values()].map(r => [...r.marks]);

test('the whole review goes to the right code, with the act as its last entry and nothing under the wrong one', async () => {
  const { session, log, workspace } = await opened('moved');
  await reassignReview(page, workspace, 'R7');
  await workspace.close();
  expect(await page.library.raters('moved')).toEqual(['R7']);
  const moved = (await page.library.log('moved', 'R7'))!;
  expect(moved.header).toEqual({ ...log.header, rater: 'R7' });
  expect(moved.entries).toHaveLength(begun + 1);
  expect(verifyChain(moved)).toEqual({ ok: true });
  expect(moved.entries[begun]).toMatchObject({
    intent: 'reassign',
    fact: { kind: 'reassigned', from: 'R1', to: 'R7' },
  });
  expect(moved.entries.slice(0, begun).map(e => [e.at, e.intent, e.change])).toEqual(
    log.entries.map(e => [e.at, e.intent, e.change]),
  );
  expect(marksOf(session, moved)).toEqual(marksOf(session, log));
  expect(raterLabel(moved)).toBe('R7, reassigned from R1');
  expect(page.prefs.getState().rater).toBe('R7');
  // The wrong code is free for whoever it belongs to, and the review goes on under the right one.
  const again = await openReview(page, session, 'R7');
  expect(again.review.get().access.writable).toBe(true);
  await again.close();
});

describe('refused, with nothing changed', () => {
  test.each([
    ['the code has a review', 'taken', ['R1', 'R2'], 'R2', 'R2 already has a review'],
    ['it is the same code', 'same', ['R1'], 'R1', 'under R1 already'],
  ])('when %s', async (_, id, raters, to, why) => {
    const { log, workspace } = await opened(id, raters);
    await expect(reassignReview(page, workspace, to)).rejects.toThrow(why);
    expect(workspace.review.get().access.writable).toBe(true);
    await workspace.close();
    expect((await page.library.log(id, 'R1'))!.entries).toEqual(log.entries);
  });

  test('once it was signed off, also when it was reopened since', async () => {
    const { session, log, workspace } = await opened('signed-off');
    const draft = { at: '2026-09-14T10:00:00.000Z', recording: '', change: [] };
    workspace.review.act({ ...draft, intent: 'finish' });
    await expect(reassignReview(page, workspace, 'R7')).rejects.toThrow('signed off by R1');
    workspace.review.act({ ...draft, intent: 'restart' });
    await expect(reassignReview(page, workspace, 'R7')).rejects.toThrow('signed off by R1');
    await workspace.close();
    expect(await page.library.raters(session.id)).toEqual(['R1']);
    expect((await page.library.log(session.id, 'R1'))!.entries.length).toBe(log.entries.length + 2);
  });

  test('when other reviews were shown to the code', async () => {
    const { session, workspace } = await opened('shown', ['R1', 'R2']);
    await saveUnblinding(page, [{ id: 'shown', title: session.title, raters: ['R2'], begun: false }], 'R7', 'report');
    await expect(reassignReview(page, workspace, 'R7')).rejects.toThrow('Reviews by others were shown to R7');
    await workspace.close();
    expect([...(await page.library.raters('shown'))].sort()).toEqual(['R1', 'R2']);
  });

  test('when the code settles differences here, or is at work in another tab', async () => {
    const { workspace } = await opened('busy');
    page.prefs.change({ supervises: { busy: 'S1' } });
    await expect(reassignReview(page, workspace, 'S1')).rejects.toThrow('S1 settles differences');
    const lock = await lockSession('busy', 'R7');
    await expect(reassignReview(page, workspace, 'R7')).rejects.toThrow('open in another tab under R7');
    lock.release();
    await reassignReview(page, workspace, 'R7');
    await workspace.close();
    expect(await page.library.raters('busy')).toEqual(['R7']);
  });
});

test('what was seen under a code stays with the review and with the code', async () => {
  const { session, log, workspace: before } = await opened('seen', ['R1', 'R2']);
  await before.close();
  const seen = append(log, unblindedDraft('2026-09-14T10:00:00.000Z', 'report', ['R2'])).log;
  const rated = append(seen, { at: '2026-09-14T10:01:00.000Z', recording: '', intent: 'skip', change: [] }).log;
  for (const entry of rated.entries.slice(begun)) await page.library.saveEntry(log.header, entry);
  const workspace = await openReview(page, session, 'R1');
  await reassignReview(page, workspace, 'R7');
  await workspace.close();
  expect(raterLabel((await page.library.log('seen', 'R7'))!)).toBe('R7, reassigned from R1, not blind');
  const later = await openReview(page, session, 'R1');
  expect(later.review.get().log.entries[0]?.fact).toEqual({ kind: 'unblinded', by: 'report', raters: ['R2'] });
  await later.close();
});

test('an old copy neither comes back under the wrong code nor stays where the reassigned review arrives', async () => {
  const { session, log, file, workspace } = await opened('copied');
  await reassignReview(page, workspace, 'R7');
  await workspace.close();
  await page.importFiles([file]);
  expect(await page.library.raters('copied')).toEqual(['R7']);
  const told = page.ui
    .getState()
    .notices.map(n => n.text)
    .join(' ');
  expect(told).toContain('The review of R1 was reassigned to R7 meanwhile');
  const moved = (await page.library.log('copied', 'R7'))!;

  await page.library.removeSession('copied');
  await page.importFiles([file]);
  await page.importFiles([fileWith('copied', [moved], session)]);
  expect(await page.library.raters('copied')).toEqual(['R7']);

  // A review that went on under the old code is another one.
  await page.library.removeSession('copied');
  const further = append(log, { at: '2026-09-14T11:00:00.000Z', recording: '', intent: 'finish', change: [] }).log;
  await page.importFiles([fileWith('copied', [further], session)]);
  await page.importFiles([fileWith('copied', [moved], session)]);
  expect([...(await page.library.raters('copied'))].sort()).toEqual(['R1', 'R7']);
});

test('what was only looked at changes the code and leaves no log', async () => {
  const made = fileWith('looked', []);
  await page.importFiles([made]);
  const session = (await page.library.session('looked'))!;
  const workspace = await openReview(page, session, 'R1');
  expect(workspace.review.get().log).toEqual(newLog(logHeader(session, 'R1')));
  await reassignReview(page, workspace, 'R7');
  await workspace.close();
  expect(await page.library.raters('looked')).toEqual([]);
  expect(page.prefs.getState().rater).toBe('R7');
});
