import { readFileSync } from 'node:fs';
import { type Browser, type Download, expect, type Page, test } from '@playwright/test';
import { ready, saved } from './page';
import * as given from './two-raters';

/** Work handed over without a server: whoever leads the study and two raters, each in a browser of their own. */
const { session } = given;
const passphrase = 'three ropes and a sled';

async function openBrowser(browser: Browser, baseURL: string): Promise<Page> {
  const page = await (await browser.newContext({ baseURL })).newPage();
  await page.goto('/#/lab-store');
  await expect(page.getByRole('heading', { name: 'Without a server' })).toBeVisible();
  return page;
}

async function fileOf(download: Download) {
  const name = download.suggestedFilename();
  return { name, mimeType: 'application/octet-stream', buffer: readFileSync(await download.path()) };
}

type GivenFile = Awaited<ReturnType<typeof fileOf>>;

const openHere = (page: Page, file: GivenFile) => page.getByTestId('handover-input').setInputFiles(file);

async function handOut(lead: Page): Promise<readonly GivenFile[]> {
  await lead.goto('/#/');
  const buffer = given.bundleOf([given.reviewOfR2('R9')]);
  await lead.getByTestId('file-input').setInputFiles({ name: 's.zip', mimeType: 'application/zip', buffer });
  await expect(lead.getByRole('link', { name: session.title })).toBeVisible();
  await lead.goto('/#/lab-store');
  await lead.getByText('Hand out sessions').click();
  await lead.getByLabel('name of the batch').fill('radio watch');
  await lead.getByRole('checkbox', { name: session.title }).check();
  await lead.getByLabel('codes of the raters').fill('R1, R2');
  await lead.getByLabel('sessions rated twice').fill('100');
  await lead.getByLabel('passphrase, empty for open files').fill(passphrase);
  await expect(lead.getByRole('button', { name: 'Make assignment files' })).toBeDisabled();
  await lead.getByLabel('the passphrase again').fill(passphrase);
  await lead.getByText('Leave out of the files what identifies people').click();
  await lead.getByLabel('dates of the recordings').selectOption('drop');
  const downloads: Download[] = [];
  lead.on('download', download => downloads.push(download));
  await lead.getByRole('button', { name: 'Make assignment files' }).click();
  await expect(lead.getByText('2 assignment files were made.')).toBeVisible({ timeout: 30_000 });
  await expect.poll(() => downloads.length).toBe(2);
  await expect(lead.getByText('without some of what identifies people')).toBeVisible();
  return Promise.all(downloads.map(fileOf));
}

/** Opens a locked assignment, looks at one beat and makes the return file. */
async function review(page: Page, file: GivenFile, code: string): Promise<GivenFile> {
  await openHere(page, file);
  const asked = page.getByRole('dialog');
  await asked.getByLabel(/^passphrase of/).fill(passphrase);
  await asked.getByRole('button', { name: 'Unlock' }).click();
  await expect(page.getByText(`1 session is assigned to ${code}.`)).toBeVisible({ timeout: 30_000 });
  await page.getByRole('button', { name: 'Make the return file' }).click();
  await expect(page.getByText(`Nothing is reviewed as ${code} yet.`)).toBeVisible();
  await page.getByTestId('received').getByRole('link', { name: session.title }).click();
  await ready(page);
  await expect(page.locator('header.steady')).toContainText(`rater ${code}`);
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('k');
  await saved(page);
  await page.goto('/#/lab-store');
  await expect(page.locator(`[data-review="${session.id}"]`)).toHaveText('under way');
  return makeReturn(page);
}

async function makeReturn(page: Page): Promise<GivenFile> {
  const arriving = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Make the return file' }).click();
  return fileOf(await arriving);
}

/** Where an earlier return was taken in with dates, one without them is refused; the page says so before it is made. */
async function returnWithoutDates(page: Page): Promise<GivenFile> {
  const warning = page.getByText('The last return left out something else.');
  await expect(warning).toBeHidden();
  await page.getByLabel('dates of your review').selectOption('drop');
  await page.getByLabel('leave out remarks and reasons').check();
  await expect(warning).toBeVisible();
  const file = await makeReturn(page);
  await expect(warning).toBeHidden();
  return file;
}

test('handed out, reviewed blind and returned without a server', async ({ browser, baseURL }) => {
  test.setTimeout(180_000);
  const lead = await openBrowser(browser, baseURL!);
  const files = await handOut(lead);
  const ofR1 = files.find(f => f.name.startsWith('assignment-R1'))!;
  const ofR2 = files.find(f => f.name.startsWith('assignment-R2'))!;
  expect([ofR1, ofR2].every(f => f.name.endsWith('.zip.locked'))).toBe(true);

  const [r1, r2] = [await openBrowser(browser, baseURL!), await openBrowser(browser, baseURL!)];
  const fromR1 = await review(r1, ofR1, 'R1');
  const fromR2 = await review(r2, ofR2, 'R2');

  // Opened where it was not handed out, and damaged on the way: nothing of it is taken.
  await openHere(r2, fromR1);
  await expect(r2.getByText('was not handed out from this browser')).toBeVisible();
  const damaged = { ...fromR1, buffer: Buffer.from(fromR1.buffer) };
  damaged.buffer[400] = damaged.buffer[400]! ^ 1;
  await openHere(lead, damaged);
  await expect(lead.getByText('its bytes were changed')).toBeVisible();
  const row = (code: string) => lead.getByTestId('batch').locator(`tr[data-rater="${code}"]`);
  await expect(row('R1')).toContainText('nothing yet');

  for (const [file, code] of [
    [fromR1, 'R1'],
    [fromR2, 'R2'],
  ] as const) {
    await openHere(lead, file);
    await expect(lead.getByText(`1 review of ${code} taken in (0 finished): 1 new`)).toBeVisible();
    await expect(row(code)).not.toContainText('nothing yet');
  }
  // Taken in again, nothing changes; and both are there beside the one from before.
  await openHere(lead, fromR1);
  await expect(lead.getByText('0 new, 0 went on, 1 as before')).toBeVisible();
  const bare = await returnWithoutDates(r2);
  expect(bare.buffer.includes(new Date().toISOString().slice(0, 10))).toBe(false);
  await openHere(lead, bare);
  await expect(lead.getByText('ask for a return with the same choice')).toBeVisible();
  await lead.goto('/#/');
  for (const code of ['R1', 'R2', 'R9']) await expect(lead.getByRole('main')).toContainText(code);
});
