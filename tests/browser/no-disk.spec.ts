import { readFileSync } from 'node:fs';
import { expect, type Page, test } from '@playwright/test';
import { verifyChain } from '../../src/core/marks/log';
import { readReviewFile } from '../../src/formats/bundle/review-file';
import { fiveMinutes } from './five-minutes';
import { giveFiles, keepAndOpen, readFiles, sampleFile } from './import-page';
import { chooseCode, given, keep, kept, openBundle, ready, saved } from './page';

const { session, bundle } = fiveMinutes();

const refusals = {
  'throws at once': () => {
    IDBFactory.prototype.open = () => {
      throw new DOMException('access is denied for this document', 'SecurityError');
    };
  },
  'fails later': () => {
    const { open } = IDBFactory.prototype;
    IDBFactory.prototype.open = function (this: IDBFactory, name: string) {
      // A version below the stored one is refused by the browser itself; its words are made those of a broken store.
      const asked = open.call(this, `${name}-refused`, 1);
      Object.defineProperty(asked, 'error', { value: new DOMException('internal error', 'UnknownError') });
      Object.defineProperty(asked, 'onsuccess', {
        set: () => queueMicrotask(() => asked.onerror?.(new Event('error'))),
      });
      return asked;
    };
  },
};

for (const [name, refuse] of Object.entries(refusals)) {
  test(`a browser that lets the page store nothing (${name}): it works in memory and says so as long as it does`, async ({
    page,
  }) => {
    await page.addInitScript(refuse);
    await openBundle(page, 'five-minutes.zip', bundle, session.title);
    const told = page
      .getByRole('alert')
      .filter({ hasText: 'Nothing is stored: The browser does not let this page store' });
    await expect(told).toBeVisible();
    await expect(told.getByRole('button', { name: 'Dismiss' })).toHaveCount(0);
    await keep(page, 5);
    await expect(page.getByTestId('saving')).toHaveText(/^in this tab only, \d+ entries/);
    // The worker's job is done on the page itself.
    await page.keyboard.press('n');
    await expect(page.getByText(/Nothing suspicious|could not be analysed/)).toHaveCount(0);
    await page.getByRole('link', { name: 'Sessions' }).click();
    await page.getByRole('link', { name: session.title }).click();
    await ready(page);
    const { log } = await given(page, () => told.getByRole('button', { name: 'Download the bundle' }).click());
    expect(log.entries.filter(e => e.intent === 'accept')).toHaveLength(5);
    expect(verifyChain(log)).toEqual({ ok: true });
    await page.reload();
    // Nor is the code remembered.
    await chooseCode(page, 'R1');
    await expect(page.getByText('This session is not stored in this browser.')).toBeVisible();
  });
}

test('without a disk files are imported, marks are found and reports made as always', async ({ page }) => {
  await page.addInitScript(refusals['throws at once']);
  await giveFiles(page, [sampleFile('chest-minute.csv')]);
  await readFiles(page);
  await keepAndOpen(page);
  await ready(page);
  await expect(page.getByTestId('ledger-chest-minute')).toBeVisible();
  await page.goto(`/#/report/chest-minute`);
  await expect(page.getByRole('heading', { level: 1 })).toContainText('chest-minute');
});

/** What the person or the browser does when it takes away what a page keeps. */
async function clearSite(page: Page, baseURL: string): Promise<void> {
  const control = await page.context().newCDPSession(page);
  await control.send('Storage.clearDataForOrigin', { origin: new URL(baseURL).origin, storageTypes: 'all' });
}

/** Presses the key that hands the work over, and answers the file. */
async function handedOver(page: Page): Promise<{ name: string; buffer: Buffer; mimeType: string }> {
  const arriving = page.waitForEvent('download');
  await page.keyboard.press('Control+s');
  const download = await arriving;
  return { name: download.suggestedFilename(), buffer: readFileSync(await download.path()), mimeType: '' };
}

test('a store that is emptied while a review is open: said at once, and the bundle holds all', async ({
  page,
  baseURL,
}) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 8);
  await saved(page);
  await clearSite(page, baseURL!);
  await keep(page, 4);
  await expect(page.getByText(/^Not saved: The store of this page was emptied while it was open/)).toBeVisible();
  const { log, bytes } = await given(page);
  expect(log.entries.filter(e => e.intent === 'accept')).toHaveLength(12);
  await page.reload();
  await chooseCode(page, 'R1');
  await expect(page.getByText('This session is not stored in this browser.')).toBeVisible();
  await openBundle(page, 'given.zip', bytes, session.title);
  expect(await kept(page)).toBeGreaterThanOrEqual(log.entries.length);
});

test('a store deleted by another tab is not held on to', async ({ context, page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 3);
  await saved(page);
  const other = await context.newPage();
  await other.goto('/icon.svg');
  const deleted = await other.evaluate(() => {
    const gone = indexedDB.deleteDatabase('beat-ledger');
    return new Promise(done => {
      gone.onsuccess = () => done('deleted');
      gone.onblocked = () => done('blocked');
    });
  });
  expect(deleted).toBe('deleted');
  await keep(page, 1);
  await expect(page.getByText(/^Not saved: The store of this page was emptied/)).toBeVisible();
  const { log } = await given(page);
  expect(log.entries.filter(e => e.intent === 'accept')).toHaveLength(4);
});

test('signals lost and the rest kept: the review can be passed on alone, and the bundle brings them back', async ({
  page,
  baseURL,
}) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 3);
  await saved(page);
  await page.evaluate(async () => (await navigator.storage.getDirectory()).removeEntry('signals', { recursive: true }));
  await page.reload();
  await expect(page.getByText(/^No signal is stored for adhesive logger, lead A/)).toBeVisible();
  await ready(page);
  const review = await handedOver(page);
  expect(review.name).toBe('five-minutes-R1.jsonl');
  const { log, wrong } = readReviewFile(review.name, review.buffer.toString());
  expect(wrong).toBeNull();
  expect(log.entries.filter(e => e.intent === 'accept')).toHaveLength(3);
  const input = page.getByTestId('file-input');
  const whole = { name: 'five.zip', mimeType: '', buffer: bundle };
  await page.goto('/#/');
  await input.setInputFiles(whole);
  await expect(page.getByText(/the missing signals were restored/)).toBeVisible();
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
  expect((await handedOver(page)).name).toBe('five-minutes-R1.zip');

  // And when everything is lost, the review waits for its recording.
  await clearSite(page, baseURL!);
  await page.goto('/#/');
  await page.reload();
  await input.setInputFiles(review);
  await expect(page.getByText(/Open the session five-minutes first/)).toBeVisible();
  await input.setInputFiles(whole);
  await expect(page.getByRole('link', { name: session.title })).toBeVisible();
  await input.setInputFiles(review);
  await expect(page.getByText(/added the review of R1/)).toBeVisible();
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
  expect(await kept(page)).toBeGreaterThanOrEqual(log.entries.length);
});

/** An old tab that does not let go of the store, and a deletion that waits for it. */
async function holdStore(other: Page): Promise<void> {
  await other.goto('/icon.svg');
  await other.evaluate(async () => {
    const held = indexedDB.open('beat-ledger');
    await new Promise(done => {
      held.onsuccess = done;
    });
    indexedDB.deleteDatabase('beat-ledger');
  });
}

const waiting = (page: Page) => page.getByRole('alert').filter({ hasText: 'Waiting for the store of this page' });

test('a store that another tab holds: said after a moment, and given up when asked the work goes on in memory', async ({
  context,
  page,
}) => {
  await holdStore(await context.newPage());
  await page.goto('/');
  await waiting(page).getByRole('button', { name: 'Work in this tab only' }).click();
  await expect(page.getByText(/^Nothing is stored: Another tab holds the store/)).toBeVisible();
  await expect(waiting(page)).toHaveCount(0);
  await page.getByTestId('file-input').setInputFiles({ name: 'five.zip', mimeType: '', buffer: bundle });
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
  await keep(page, 2);
  const { log } = await given(page);
  expect(log.entries.filter(e => e.intent === 'accept')).toHaveLength(2);
});

test('a store that comes late is the one on disk, and a session that waits for it says so', async ({
  context,
  page,
}) => {
  const other = await context.newPage();
  await holdStore(other);
  await page.goto('/#/report/late');
  await chooseCode(page, 'R1');
  await expect(waiting(page)).toBeVisible();
  await page.goto('/#/');
  await page.getByTestId('file-input').setInputFiles({ name: 'five.zip', mimeType: '', buffer: bundle });
  await other.close();
  await expect(waiting(page)).toHaveCount(0);
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
  await keep(page, 2);
  await saved(page);
  await page.reload();
  await ready(page);
  await expect(page.getByTestId('saving')).toHaveText(/^saved, \d+ entries/);
});

/** The small store of the preferences answers only after so long; runs in the page. */
function slowPreferences(delayMs: number): void {
  const open = IDBFactory.prototype.open;
  IDBFactory.prototype.open = function (name: string, version?: number): IDBOpenDBRequest {
    if (name !== 'keyval-store') return open.call(this, name, version);
    const late = {} as { -readonly [Key in keyof IDBOpenDBRequest]: IDBOpenDBRequest[Key] };
    setTimeout(() => {
      const request = open.call(this, name, version);
      Object.defineProperty(late, 'result', { get: () => request.result });
      request.onupgradeneeded = event => late.onupgradeneeded?.call(request, event);
      request.onsuccess = event => late.onsuccess?.call(request, event);
    }, delayMs);
    return late;
  };
}

test('preferences that come late do not keep the page empty, and that is said until they come', async ({ page }) => {
  await page.addInitScript(slowPreferences, 6000);
  await page.goto('/');
  const notice = page.getByText(/^The preferences kept in this browser have not come yet/);
  await expect(notice).toBeVisible();
  await expect(notice).toHaveCount(0);
});
