import { expect, type Page, test } from '@playwright/test';
import { verifyChain } from '../../src/core/marks/log';
import { fiveMinutes } from './five-minutes';
import { given, keep, kept, openBundle, ready, saved } from './page';

const { session, bundle } = fiveMinutes();

/** A disk that is small from the start: the browser trusts for a while what it once granted. */
async function smallDisk(page: Page, baseURL: string): Promise<(quotaSize?: number) => Promise<unknown>> {
  const control = await page.context().newCDPSession(page);
  const { origin } = new URL(baseURL);
  const resize = (quotaSize?: number) =>
    control.send('Storage.overrideQuotaForOrigin', quotaSize === undefined ? { origin } : { origin, quotaSize });
  await resize(12_000_000);
  return resize;
}

/** Another user of the disk takes whatever is left. Answers what gives the room back. */
async function fillDisk(page: Page, resize: (quotaSize?: number) => Promise<unknown>): Promise<() => Promise<void>> {
  await page.evaluate(async () => {
    const asked = indexedDB.open('other user of the disk');
    asked.onupgradeneeded = () => asked.result.createObjectStore('bytes', { autoIncrement: true });
    await new Promise(done => {
      asked.onsuccess = done;
    });
    const add = (size: number) =>
      new Promise<boolean>(done => {
        const work = asked.result.transaction('bytes', 'readwrite');
        work.objectStore('bytes').add(crypto.getRandomValues(new Uint8Array(size)));
        work.oncomplete = () => done(true);
        work.onabort = () => done(false);
      });
    for (const size of [50_000, 5000, 500, 50]) for (let i = 0; i < 5000 && (await add(size)); i++);
    asked.result.close();
  });
  // What the browser tidies up by itself later must not make room again; the allowance it had granted is used up by now.
  await resize(1);
  return async () => {
    await page.evaluate(() => {
      const gone = indexedDB.deleteDatabase('other user of the disk');
      return new Promise(done => {
        gone.onsuccess = done;
      });
    });
    await resize();
  };
}

test('a disk that fills up in the middle: said at once, work goes on, the bundle holds all, nothing saved is lost', async ({
  page,
  baseURL,
}) => {
  const resize = await smallDisk(page, baseURL!);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 10);
  await saved(page);
  const before = await kept(page);
  const makeRoom = await fillDisk(page, resize);
  await keep(page, 10);
  await expect(page.getByText(/^Not saved: The browser has no room left for this page/)).toBeVisible();
  await keep(page, 5);
  const { log } = await given(page);
  const decided = log.entries.filter(e => e.intent === 'accept');
  expect(decided).toHaveLength(25);
  expect(verifyChain(log)).toEqual({ ok: true });

  await makeRoom();
  // The next entry tries again as well, and may be quicker than the hand.
  await page
    .getByRole('button', { name: 'Try again' })
    .click({ timeout: 5000 })
    .catch(() => undefined);
  await saved(page);
  await expect(page.getByText(/^Not saved/)).toHaveCount(0);
  expect(await kept(page)).toBeGreaterThanOrEqual(before + 15);
  await page.reload();
  await ready(page);
  expect(await kept(page)).toBeGreaterThanOrEqual(log.entries.length);
});

test('a full disk and then a closed tab lose only what was said to be unsaved', async ({ page, baseURL }) => {
  const resize = await smallDisk(page, baseURL!);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 10);
  await saved(page);
  const before = await kept(page);
  const makeRoom = await fillDisk(page, resize);
  await keep(page, 3);
  await expect(page.getByText(/^Not saved/)).toBeVisible();
  await makeRoom();
  const { bytes, log } = await given(page);
  await page.reload();
  await ready(page);
  expect(await kept(page)).toBeGreaterThanOrEqual(before);
  // The bundle brings back what the tab took with it.
  await page.getByRole('link', { name: 'Sessions' }).click();
  await page.getByTestId('file-input').setInputFiles({ name: 'given.zip', mimeType: 'application/zip', buffer: bytes });
  await expect(page.getByText(/the review of R1 went on|nothing new in this bundle/)).toBeVisible();
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
  expect(await kept(page)).toBeGreaterThanOrEqual(log.entries.length);
});

test('two hundred entries without a copy: the page asks for one, and one key gives it', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 205);
  const asked = page.getByText(/2\d\d entries since the last copy outside this browser/);
  await expect(asked).toBeVisible();
  await page.getByRole('button', { name: 'Dismiss' }).click();
  await expect(asked).toHaveCount(0);
  const { log } = await given(page);
  expect(log.entries.filter(e => e.intent === 'accept')).toHaveLength(205);
});

test('half an hour of work without a copy: the page asks, and not again before as much time has gone by', async ({
  page,
}) => {
  await page.clock.install();
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const asked = page.getByText(/^\d+ entries since the last copy outside this browser/);
  // For the watch over the search for places, half an hour gone by would be a search that hangs.
  await expect(page.getByTestId('queue').getByRole('listitem').first()).toBeVisible();
  await keep(page, 2);
  await page.clock.fastForward('29:30');
  await keep(page, 1);
  await expect(asked).toHaveCount(0);
  await page.clock.fastForward('00:31');
  await keep(page, 1);
  await expect(asked).toBeVisible();
  await page.getByRole('button', { name: 'Dismiss' }).click();
  await page.clock.fastForward('29:00');
  await keep(page, 1);
  await expect(asked).toHaveCount(0);
  await page.clock.fastForward('02:00');
  await keep(page, 1);
  await expect(asked).toBeVisible();
  await given(page);
  await expect(asked).toHaveCount(0);
});

test('a screen that breaks shows what happened and passes on the work', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 4);
  await saved(page);
  await page.evaluate(() => {
    const toFixed = Number.prototype.toFixed;
    Number.prototype.toFixed = () => {
      throw new Error('broken on purpose');
    };
    Object.assign(window, { mend: () => Object.assign(Number.prototype, { toFixed }) });
  });
  await page.keyboard.press('c');
  await page.keyboard.press('Escape');
  await page.keyboard.press('ArrowRight');
  await expect(page.getByRole('heading', { name: 'Something went wrong on this screen' })).toBeVisible();
  await expect(page.getByRole('alert')).toHaveText('broken on purpose');
  await page.evaluate(() => (window as unknown as { mend(): void }).mend());
  const download = page.getByRole('button', { name: 'Download the bundle' });
  // Where what writes it cannot be fetched, that is said and can be tried again.
  const writing = /\/download-bundle-[^/]+\.js$/;
  await page.route(writing, route => route.abort());
  await download.click();
  await expect(page.getByText('The bundle was not downloaded:')).toBeVisible();
  await page.unroute(writing);
  const { log } = await given(page, () => download.click());
  expect(log.entries.filter(e => e.intent === 'accept')).toHaveLength(4);
  await expect(page.getByText('The bundle was not downloaded:')).toHaveCount(0);
  await page.getByRole('button', { name: 'Reload' }).click();
  await ready(page);
  await expect(page.getByTestId('saving')).toHaveText(/^saved/);
});

test('what nobody caught becomes a notice', async ({ page }) => {
  await page.goto('/');
  await page.evaluate(() => void Promise.reject(new Error('a thread was lost')));
  await expect(page.getByRole('alert')).toContainText('Something went wrong: a thread was lost');
});
