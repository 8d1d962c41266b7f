import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from '@playwright/test';
import { readBundle } from '../../src/formats/bundle/reader';
import { readStudy } from '../../src/formats/bundle/study';
import { bytesSource } from '../../src/formats/bytes/source';
import { isLocked, unlockSource } from '../../src/formats/locked/locked';
import { fiveMinutes } from './five-minutes';
import { chooseCode, column, exported, openBundle, ready, saved } from './page';

const { session, plant, bundle } = fiveMinutes();
const passphrase = 'three ropes and a sled';

test('a bundle leaves locked and without its dates, and opens elsewhere with its passphrase only', async ({
  page,
  browser,
  baseURL,
}) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('k');
  await saved(page);
  await page.keyboard.press('e');
  await page.getByText(/fields may identify a person/).click();
  await expect(page.getByTestId('identifying')).toContainText('2026-09-12T09:00:00');
  await page.getByLabel('dates of the recordings').selectOption('drop');
  await page.getByLabel('leave out the names of source files').check();
  const first = page.getByLabel('passphrase, empty for an open bundle');
  const again = page.getByLabel('the passphrase again');
  await first.fill('too short');
  await expect(page.getByText('The passphrase needs at least 15 characters')).toBeVisible();
  await page.getByRole('button', { name: 'Session bundle', exact: true }).click();
  await expect(page.getByTestId('export-said')).toContainText('Nothing was written.');
  await first.fill(passphrase);
  await again.fill(`${passphrase}s`);
  await expect(page.getByText('The two passphrases differ.')).toBeVisible();
  await expect(again).toHaveAttribute('type', 'password');
  await page.getByLabel('show it').check();
  await expect(again).toHaveAttribute('type', 'text');
  await again.fill(passphrase);
  await expect(page.getByText('The two passphrases differ.')).toHaveCount(0);
  await expect(page.getByText('cannot be recovered')).toBeVisible();
  const arriving = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Session bundle', exact: true }).click();
  const download = await arriving;
  expect(download.suggestedFilename()).toBe('five-minutes-R1.zip.locked');
  await page.keyboard.press('Escape');
  const locked = readFileSync(await download.path());
  expect(isLocked(locked)).toBe(true);
  const inside = await readBundle(await unlockSource(bytesSource('inside', locked), passphrase));
  expect(inside.reviewed.session.recordings[0]!.recording).toMatchObject({ startedAt: null, source: '' });
  expect(inside.reviewed.logs[0]!.entries.some(e => e.intent === 'accept')).toBe(true);

  const elsewhere = await (await browser.newContext({ baseURL: baseURL! })).newPage();
  await elsewhere.goto('/');
  await elsewhere
    .getByTestId('file-input')
    .setInputFiles({ name: 'kept.zip.locked', mimeType: 'application/octet-stream', buffer: locked });
  await elsewhere.getByLabel('passphrase of kept.zip.locked').fill('four ropes');
  await elsewhere.keyboard.press('Enter');
  await expect(elsewhere.getByText('This passphrase does not open kept.zip.locked.')).toBeVisible();
  await elsewhere.getByLabel('passphrase of kept.zip.locked').fill(passphrase);
  await elsewhere.keyboard.press('Enter');
  await elsewhere.getByRole('link', { name: session.title }).click();
  await ready(elsewhere);
  const [marks] = await exported(elsewhere, 'Reviewed marks');
  expect(column(marks!.bytes, 'sample').map(Number)).toEqual([...plant.detected]);
});

test('a study leaves locked, and is taken in elsewhere with its passphrase', async ({ page, browser, baseURL }) => {
  await page.goto('/#/study');
  await page.getByTestId('study-file').setInputFiles(join(import.meta.dirname, '../stored/study-2.zip'));
  await expect(page.getByTestId('study-totals')).toContainText('2 reviewed');
  await page.getByText('Lock the bundle with a passphrase').click();
  const exportIt = page.getByRole('button', { name: 'Export the study as one bundle' });
  await page.getByLabel('passphrase, empty for an open bundle').fill(passphrase);
  await expect(exportIt).toBeDisabled();
  await page.getByLabel('the passphrase again').fill(passphrase);
  await expect(page.getByText('The bundle is locked')).toBeVisible();
  const arriving = page.waitForEvent('download');
  await exportIt.click();
  await chooseCode(page, 'R1');
  const download = await arriving;
  expect(download.suggestedFilename()).toMatch(/\.zip\.locked$/);
  const buffer = readFileSync(await download.path());
  expect(isLocked(buffer)).toBe(true);
  const inside = await readStudy(await unlockSource(bytesSource('inside', buffer), passphrase));

  const elsewhere = await (await browser.newContext({ baseURL: baseURL! })).newPage();
  await elsewhere.goto('/#/study');
  await elsewhere
    .getByTestId('study-file')
    .setInputFiles({ name: 'study.zip.locked', mimeType: 'application/octet-stream', buffer });
  await elsewhere.getByLabel('passphrase of study.zip.locked').fill(passphrase);
  await elsewhere.keyboard.press('Enter');
  await expect(elsewhere.getByRole('heading', { name: inside.study.title })).toBeVisible();
  await expect(elsewhere.getByTestId('study-totals')).toContainText('2 reviewed');
});
