import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, expect, type Page, test } from '@playwright/test';
import { openSteps } from './step';

const open = (page: Page) => openSteps<typeof import('./pages/storage-steps')>(page, 'storage-steps');

test('a session comes back as it was, and the catalogue lists the newest first', async ({ page }) => {
  const call = await open(page);
  const { detected, typed, list } = await call('saveAndReadSession');
  expect(detected).toEqual([5, 100, 230]);
  expect(typed).toBe(true);
  expect(list.map(s => s.id)).toEqual(['s2', 's1']);
  expect(list[0]).toMatchObject({
    recorders: ['chest band'],
    durationSeconds: 300,
    markCount: 3,
    segmentNames: ['radio watch'],
  });
});

test('deleting a session removes everything of it and nothing of another', async ({ page }) => {
  const call = await open(page);
  const { keys, unfinished } = await call('deleteEverythingOf', 's1');
  expect(unfinished).toMatchObject([{ session: 's1', fileName: 'a.edf' }]);
  expect(keys).toEqual(['["catalogue","s10"]', '["session","s10"]', '["store"]']);
});

test('ten thousand entries fold into few records and read back with their chain whole', async ({ page }) => {
  const call = await open(page);
  expect(await call('foldTenThousand')).toEqual({ before: 10_502, folded: 10_000, again: 0, after: 507 });
  const { count, chain, raters } = await call('storedLog', 'R1');
  expect({ count, chain, raters }).toEqual({ count: 10_500, chain: { ok: true }, raters: ['R1'] });
});

test('an entry that does not follow the stored ones is refused and leaves no trace', async ({ page }) => {
  const call = await open(page);
  const { skipped, repeated, foreign, count } = await call('appendOutOfOrder');
  for (const problem of [skipped, repeated, foreign]) expect(problem?.kind).toBe('conflict');
  expect(count).toBe(2);
});

test('an entry of a review that another tab has removed is refused as that, and leaves no trace', async ({ page }) => {
  const call = await open(page);
  const { problem, keys } = await call('appendAfterRemoval');
  expect(problem?.kind).toBe('removed');
  expect(keys).toEqual(['["store"]']);
});

test('a log from a file extends a stored one or is refused, and never rewrites it', async ({ page }) => {
  const call = await open(page);
  expect(await call('addLogs')).toEqual({ answers: ['added', 'same', 'extended', 'same', 'differs'], count: 30 });
});

test('a store emptied while the page is open is noticed at the next edit', async ({ page }) => {
  const call = await open(page);
  expect((await call('emptiedUnderneath'))?.kind).toBe('gone');
});

test('older records are upgraded; a newer store is refused, also when it was open already', async ({ page }) => {
  const call = await open(page);
  const { value, openOld, writeOld } = await call('upgradeThenOpenOld');
  expect(value).toEqual({ theme: 'dark', upgrade1: true, upgrade2: true, upgrade3: true });
  expect(openOld?.kind).toBe('newer');
  expect(writeOld?.kind).toBe('newer');
});

test('a browser that answers nothing for a while, as on a busy machine, is not taken for a store that is held', async ({
  page,
  browser,
}) => {
  const call = await open(page);
  const session = await browser.newBrowserCDPSession();
  const { processInfo } = await session.send('SystemInfo.getProcessInfo');
  const { id } = processInfo.find(p => p.type === 'browser')!;
  const pauseMs = 1500;
  await call('openSoon', 400, 500);
  // The browser itself stands still, and with it its store; the page and its clock go on.
  process.kill(id, 'SIGSTOP');
  try {
    await new Promise(done => setTimeout(done, pauseMs));
  } finally {
    process.kill(id, 'SIGCONT');
  }
  expect(await call('openedSince')).toBe(null);
});

test('no IndexedDB, or one that another tab holds, is said in words', async ({ page }) => {
  const call = await open(page);
  expect((await call('blockedStore'))?.kind).toBe('blocked');
  const denied = await call('deniedStore');
  expect(denied?.kind).toBe('denied');
  expect(denied?.remedy).toContain('export a bundle');
});

test('a full disk is said in words, and what was saved before stays', async ({ page, context, baseURL }) => {
  const call = await open(page);
  const session = await context.newCDPSession(page);
  await session.send('Storage.overrideQuotaForOrigin', { origin: baseURL!, quotaSize: 2_000_000 });
  const { big, kept } = await call('fill', 8_000_000);
  expect(big?.kind).toBe('full');
  expect(kept).toBe(1);
  // Chromium reports a fixed quota to pages, whatever the real one is: only a failed write tells.
  expect((await call('estimate')).usedBytes).toBeGreaterThan(0);
});

test('of two tabs one writes, and the other takes over when the first lets go', async ({ context }) => {
  const first = await open(await context.newPage());
  const secondPage = await context.newPage();
  const second = await open(secondPage);
  expect(await first('lock', 's1', 'R1')).toBe(true);
  expect(await second('lock', 's1', 'R1')).toBe(false);
  expect(await second('wasHandedOver')).toBe(false);
  await first('release');
  await expect.poll(() => second('wasHandedOver')).toBe(true);
  expect(await first('lock', 's1', 'R1')).toBe(false);
  expect(await first('lock', 's1', 'R2')).toBe(true);
});

test('a tab that is closed hands its lock over', async ({ context }) => {
  const firstPage = await context.newPage();
  await (await open(firstPage))('lock', 's1', 'R1');
  const second = await open(await context.newPage());
  expect(await second('lock', 's1', 'R1')).toBe(false);
  await firstPage.close();
  await expect.poll(() => second('wasHandedOver')).toBe(true);
});

for (const death of ['renderer', 'browser'] as const) {
  test(`killing the ${death} in the middle of appends loses no awaited entry`, async ({ baseURL, launchOptions }) => {
    const profile = mkdtempSync(join(tmpdir(), 'profile-'));
    const launch = () => chromium.launchPersistentContext(profile, { ...launchOptions, baseURL: baseURL! });
    let lastSaved = -1;
    try {
      let context = await launch();
      const page = await context.newPage();
      await page.exposeFunction('saved', (seq: number) => {
        lastSaved = seq;
      });
      const call = await open(page);
      const running = call('appendMany', 'R1', 5000).catch(() => 'killed');
      await expect.poll(() => lastSaved).toBeGreaterThan(100);
      if (death === 'renderer') await page.goto('chrome://crash').catch(() => undefined);
      else await (await context.newCDPSession(page)).send('Browser.crash' as never).catch(() => undefined);
      expect(await running).toBe('killed');
      const savedAtDeath = lastSaved;
      await context.close().catch(() => undefined);
      context = await launch();
      const { count, chain } = await (await open(await context.newPage()))('storedLog', 'R1');
      expect(count).toBeGreaterThan(savedAtDeath);
      expect(chain).toEqual({ ok: true });
      await context.close();
    } finally {
      rmSync(profile, { recursive: true, force: true });
    }
  });
}
