import { expect, type Page, test } from '@playwright/test';
import { verifyChain } from '../../src/core/marks/log';
import { readBundle } from '../../src/formats/bundle/reader';
import { readReviewFile } from '../../src/formats/bundle/review-file';
import { bytesSource } from '../../src/formats/bytes/source';
import { sound } from './axe';
import { fiveMinutes } from './five-minutes';
import { keep, kept, openBundle, ready, saved } from './page';
import * as twoRaters from './two-raters';

const { session, bundle } = fiveMinutes();

/** Where copying takes long, the next copy waits twenty times as long. */
const untilCopied = { timeout: 60_000 };

/**
 * A browser without a window cannot show the dialog that chooses a folder: what the person would have chosen is a real
 * folder of the browser's private file system. Everything after the choice is the real thing.
 */
async function withFolder(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const choose = async () =>
      (await navigator.storage.getDirectory()).getDirectoryHandle('my copies', { create: true });
    Object.assign(window, { showDirectoryPicker: choose });
  });
}

async function chooseFolder(page: Page): Promise<void> {
  await page.goto('/');
  await page.getByRole('button', { name: 'Choose a folder for copies' }).click();
  await expect(page.getByTestId('backup-folder')).toContainText('Copies go to the folder my copies');
}

/** Names, sizes and times of last change of what lies in the folder, and the words of reviews. */
function inFolder(page: Page): Promise<{ name: string; size: number; text: string; changed: number }[]> {
  return page.evaluate(async () => {
    const folder = await (await navigator.storage.getDirectory()).getDirectoryHandle('my copies');
    const out = [];
    for await (const entry of folder.values()) {
      // A copy that is being written lies beside the old one, and may be gone before it is opened or read.
      try {
        const file = await (entry as FileSystemFileHandle).getFile();
        const text = file.name.endsWith('.jsonl') ? await file.text() : '';
        out.push({ name: file.name, size: file.size, text, changed: file.lastModified });
      } catch (error) {
        if ((error as DOMException).name !== 'NotFoundError') throw error;
      }
    }
    return out.sort((a, b) => (a.name < b.name ? -1 : 1));
  });
}

/** One file of the folder, in base64: numbers in a list take the browser seconds. */
async function bytesInFolder(page: Page, name: string): Promise<Uint8Array> {
  const words = await page.evaluate(async named => {
    const folder = await (await navigator.storage.getDirectory()).getDirectoryHandle('my copies');
    const bytes = new Uint8Array(await (await (await folder.getFileHandle(named)).getFile()).arrayBuffer());
    let text = '';
    for (let at = 0; at < bytes.length; at += 8192) text += String.fromCharCode(...bytes.subarray(at, at + 8192));
    return btoa(text);
  }, name);
  return Uint8Array.from(Buffer.from(words, 'base64'));
}

/** The browser loses what it kept for the page, and the person's folder is left. */
async function loseEverything(page: Page): Promise<void> {
  await page.goto('about:blank');
  await page.goto('/icon.svg');
  await page.evaluate(async () => {
    const gone = indexedDB.deleteDatabase('beat-ledger');
    await new Promise(done => {
      gone.onsuccess = done;
    });
    await (await navigator.storage.getDirectory()).removeEntry('signals', { recursive: true });
  });
}

test('what cannot be copied is said, also where the code for it cannot be fetched, and is copied later', async ({
  page,
}) => {
  const copying = /\/copies-[^/]+\.js$/;
  await withFolder(page);
  await chooseFolder(page);
  await page.route(copying, route => route.abort());
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 1);
  await expect(page.getByTestId('copied')).toHaveText('not copied');
  await expect(page.getByText('The copy to the folder my copies could not be written')).toBeVisible();
  await page.unroute(copying);
  await keep(page, 1);
  await expect(page.getByTestId('copied')).toHaveText('copied', untilCopied);
});

test('a review is copied to a folder as it goes, its signals once, and comes back from there', async ({ page }) => {
  await withFolder(page);
  await chooseFolder(page);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 5);
  const copied = page.getByTestId('copied');
  await expect(copied).toHaveText('copied', untilCopied);
  await expect
    .poll(async () => (await inFolder(page)).map(f => f.name))
    .toEqual(['five-minutes-R1.jsonl', 'five-minutes.zip']);
  const before = (await inFolder(page))[1]!;
  const inZip = await readBundle(bytesSource('five-minutes.zip', await bytesInFolder(page, 'five-minutes.zip')));
  expect(inZip.reviewed).toEqual({ session, logs: [] });

  await keep(page, 20);
  await saved(page);
  const saidSaved = await kept(page);
  await expect(copied).toHaveText('copied', untilCopied);
  const [review, zip] = await inFolder(page);
  const { log, wrong } = readReviewFile(review!.name, review!.text);
  expect(wrong).toBeNull();
  const entries = log.entries.length;
  expect(entries).toBeGreaterThanOrEqual(saidSaved);
  expect(verifyChain(log)).toEqual({ ok: true });
  expect(zip!.changed).toBe(before.changed);

  await loseEverything(page);
  await page.goto('/');
  await expect(page.getByRole('link', { name: session.title })).toHaveCount(0);
  await page.getByRole('button', { name: 'Restore from a folder' }).click();
  await expect(page.getByRole('dialog')).toContainText(/review of R1, \d+ entries/);
  await sound(page, 'restore');
  await page.getByRole('button', { name: 'Open the chosen ones' }).click();
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
  expect(await kept(page)).toBeGreaterThanOrEqual(entries);
  // The copy goes on in the same file.
  await keep(page, 2);
  await expect(copied).toHaveText('copied', untilCopied);
  expect((await inFolder(page)).map(f => f.name)).toEqual(['five-minutes-R1.jsonl', 'five-minutes.zip']);
});

test('a folder with several sessions: each with its reviews, by title, to choose from; all is reported and put away at once', async ({
  page,
}) => {
  await withFolder(page);
  await chooseFolder(page);
  const both = twoRaters.bundleOf([twoRaters.reviewOfR1(), twoRaters.reviewOfR2()]);
  const names = async () => (await inFolder(page)).filter(f => f.size > 0).map(f => f.name);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 2);
  await expect.poll(names).toContain('five-minutes.zip');
  await openBundle(page, 'both.zip', both, twoRaters.session.title);
  await expect.poll(names).toContain('two-raters.zip');
  await page.evaluate(async () => {
    const folder = await (await navigator.storage.getDirectory()).getDirectoryHandle('my copies');
    const extra = async (name: string, text: string) => {
      const stream = await (await folder.getFileHandle(name, { create: true })).createWritable();
      await stream.write(text);
      await stream.close();
    };
    await extra('broken.jsonl', 'no review');
    // A second copy of a review, as a folder gathers them over time.
    const review = await (await folder.getFileHandle('five-minutes-R1.jsonl')).getFile();
    await extra('five-minutes-R1-2.jsonl', await review.text());
  });
  await loseEverything(page);
  await page.goto('/');
  const button = page.getByRole('button', { name: 'Restore from a folder' });
  await button.press('Enter');
  const rows = page.getByTestId('copies').locator('tbody tr');
  await expect(rows.locator('td:last-child')).toHaveText([
    'five-minutes.zip',
    'five-minutes-R1-2.jsonl',
    'five-minutes-R1.jsonl',
    'two-raters.zip',
    'two-raters-R1.jsonl',
    'broken.jsonl',
  ]);
  // The reviews have the title of the session beside them, though it is not here yet.
  await expect(rows.nth(1).getByRole('rowheader')).toHaveText(session.title);
  await expect(rows.last().getByRole('checkbox')).toBeDisabled();
  await sound(page, 'a restore sheet with several sessions');
  await page.keyboard.press('Escape');
  await expect(button).toBeFocused();

  await page.keyboard.press('Enter');
  const dialog = page.getByRole('dialog');
  await expect(dialog).toContainText('5 of 6 files chosen');
  await dialog.getByRole('button', { name: 'Choose none' }).press('Enter');
  await expect(dialog.getByRole('button', { name: 'Open the chosen ones' })).toBeDisabled();
  await dialog.getByRole('button', { name: 'Choose all' }).press('Enter');
  await dialog.getByRole('button', { name: 'Open the chosen ones' }).press('Enter');
  await expect(page.getByRole('link', { name: session.title })).toBeVisible();
  await expect(page.getByRole('link', { name: twoRaters.session.title })).toBeVisible();
  const told = page.locator('.notice');
  await expect(told).toHaveCount(1);
  await expect(told).toContainText(`1 file with nothing new. ${session.title}: added the review of R1.`);
  await told.getByRole('button', { name: 'Dismiss' }).click();
  await expect(page.locator('.notice')).toHaveCount(0);
});

test('a review begun again does not write over the longer one in the folder, and restoring rewrites nothing', async ({
  page,
}) => {
  await withFolder(page);
  await chooseFolder(page);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 6);
  const copied = page.getByTestId('copied');
  await expect(copied).toHaveText('copied', untilCopied);
  const long = (await inFolder(page))[0]!;
  await loseEverything(page);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 2);
  await expect(copied).toHaveText('copied', untilCopied);
  const names = ['five-minutes-R1-2.jsonl', 'five-minutes-R1.jsonl', 'five-minutes.zip'];
  // While a copy takes the place of the one before it, its name is away for a moment.
  await expect.poll(async () => (await inFolder(page)).map(f => f.name)).toEqual(names);
  await expect.poll(async () => (await inFolder(page))[1]?.text).toBe(long.text);
  const here = await kept(page);
  await page.getByRole('link', { name: 'Sessions' }).click();
  await page.getByRole('button', { name: 'Restore from a folder' }).click();
  await page.getByRole('button', { name: 'Open the chosen ones' }).click();
  await expect(page.getByText(/The log of R1 here and the incoming one part at entry \d+/)).toBeVisible();
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
  expect(await kept(page)).toBeGreaterThanOrEqual(here);
  expect(await kept(page)).toBeLessThan(here + 3);
});

test('after a reload one button lets the copies go on; a folder that is gone or refuses does not stop the work', async ({
  page,
}) => {
  await withFolder(page);
  // What a browser answers on the next visit: it wants to be asked, and a press of a button grants it.
  await page.addInitScript(() => {
    let leave = 'prompt';
    const asked = async () => {
      leave = 'granted';
      return leave;
    };
    Object.assign(FileSystemHandle.prototype, { queryPermission: async () => leave, requestPermission: asked });
  });
  await chooseFolder(page);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await expect(page.getByText(/Copies to the folder my copies have stopped/)).toBeVisible();
  await keep(page, 3);
  await expect(page.getByTestId('copied')).toHaveCount(0);
  await page.getByRole('button', { name: 'Resume copying' }).click();
  await expect(page.getByTestId('copied')).toHaveText('copied', untilCopied);
  await expect(page.getByText(/have stopped/)).toHaveCount(0);

  await page.evaluate(async () => {
    await (await navigator.storage.getDirectory()).removeEntry('my copies', { recursive: true });
  });
  await keep(page, 3);
  await expect(
    page.getByText(/The copy to the folder my copies could not be written: it no longer exists/),
  ).toBeVisible();
  await expect(page.getByTestId('copied')).toHaveText('not copied');
  await keep(page, 3);
  await saved(page);
});

test('a browser that cannot write to folders says what it does instead', async ({ page }) => {
  await page.addInitScript(() => Object.assign(window, { showDirectoryPicker: undefined }));
  await page.goto('/');
  await expect(page.getByText(/the page asks after 200 entries or 30 minutes without a copy/)).toBeVisible();
});
