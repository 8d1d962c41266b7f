import { readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, type Page, test } from '@playwright/test';
import { sound } from './axe';
import { ready } from './page';
import { writeLongFile, writeStudyFolder } from './study-folder';

async function newStudy(page: Page, title: string): Promise<void> {
  await page.goto('/#/study');
  await page.getByLabel('title').fill(title);
  await page.getByRole('button', { name: 'Create' }).click();
  await expect(page.getByRole('heading', { name: title })).toBeVisible();
}

/** What the table says each file becomes, by its name without folders. */
async function becomes(page: Page): Promise<Record<string, string>> {
  const rows = await page
    .getByTestId('naming-preview')
    .locator('tbody tr')
    .evaluateAll(all =>
      all.map(row => {
        const last = row.querySelector('td:last-child')!;
        // Doubts stand below in elements of their own.
        const words = [...last.childNodes].filter(n => n.nodeType === Node.TEXT_NODE).map(n => n.textContent);
        return [row.querySelector('th')!.textContent!, words.join('')];
      }),
    );
  return Object.fromEntries(rows.map(([path, words]) => [path!.split('/').at(-1)!, words!]));
}

/** Drops something from disk as the system's file manager would. */
async function drop(page: Page, path: string): Promise<void> {
  await page.getByTestId('study-drop').scrollIntoViewIfNeeded();
  const box = (await page.getByTestId('study-drop').boundingBox())!;
  const client = await page.context().newCDPSession(page);
  const at = { x: Math.round(box.x + box.width / 2), y: Math.round(box.y + 20) };
  const data = { items: [], files: [path], dragOperationsMask: 1 };
  for (const type of ['dragEnter', 'dragOver', 'drop'] as const) {
    await client.send('Input.dispatchDragEvent', { type, ...at, data });
  }
  await client.detach();
}

test('a folder becomes a study: named, looked at, imported; one bad file stops no other', async ({ page }, info) => {
  const folder = info.outputPath('training');
  await writeStudyFolder(folder);
  const cut = join(folder, 'V02_adhesive-logger.csv');
  const whole = readFileSync(cut);
  writeFileSync(join(folder, 'readme.txt'), 'Files of one training day, named by volunteer and recorder.\n');
  writeFileSync(join(folder, 'overview.csv'), readFileSync(join(folder, 'V01_segments.csv')));
  // As many as make it no file with a bad line, but a bad file.
  writeFileSync(cut, `${whole.toString().slice(0, 40_000)}\n${'12.0,broken,by,hand\n'.repeat(800)}`);

  await newStudy(page, 'Training folder');
  await page.getByLabel('activities in the order').fill('radio watch, 0:00, 0:40\nsled haul, 0:45, 1:30');
  await page.getByRole('button', { name: 'Save these' }).click();
  await expect(page.getByText('Saved for every session')).toBeVisible();

  await page.getByTestId('study-folder').setInputFiles(folder);
  await expect(page.getByTestId('naming-preview').locator('tbody tr')).toHaveCount(16);
  await expect(page.getByTestId('import-summary')).toHaveText('16 files: 6 recordings of 3 volunteers; 2 left out.');
  expect(await becomes(page)).toMatchObject({
    'V01_chest-band.edf': 'recording of V01, chest-band',
    'V01_chest-band_beats.csv': 'marks of V01, chest-band',
    'V01_segments.csv': 'segments of V01, 2 recordings',
    'V03_adhesive-logger_beats.csv': 'marks of V03, adhesive-logger',
    'overview.csv': 'left out: the name fits no pattern',
    'readme.txt': expect.stringContaining('left out: readme.txt (text), line 1: this is text without rows of numbers'),
  });

  await sound(page, 'files of a study');

  // The pattern can be changed, and the table follows.
  const pattern = page.getByLabel('how files are named');
  await pattern.fill('{participant} {recorder}');
  await expect(page.getByTestId('import-summary')).toContainText('0 recordings of 0 volunteers');
  // Several side by side: each file is read by the first that it fits.
  await pattern.fill('{participant}_{recorder}_beats\n{participant}_chest-{ignore}');
  await expect(page.getByTestId('import-summary')).toContainText('3 recordings of 3 volunteers');
  // A name that fits none is corrected by hand.
  await page.getByRole('button', { name: 'correct the name of training/V01_adhesive-logger.csv' }).click();
  await page.getByLabel('volunteer of training/V01_adhesive-logger.csv').fill('V01');
  await page.getByLabel('recorder of training/V01_adhesive-logger.csv').fill('adhesive-logger');
  await page.getByRole('button', { name: 'Keep' }).click();
  await expect(page.getByTestId('import-summary')).toContainText('4 recordings of 3 volunteers');
  expect((await becomes(page))['V01_adhesive-logger.csv']).toBe('recording of V01, adhesive-logger');
  await page.getByRole('button', { name: 'correct the name of training/V01_adhesive-logger.csv' }).click();
  await page.getByRole('button', { name: 'As named' }).click();
  await expect(page.getByTestId('import-summary')).toContainText('3 recordings of 3 volunteers');
  await pattern.fill('training/{participant}_{recorder}*');
  await expect(page.getByTestId('import-summary')).toContainText('6 recordings of 3 volunteers');

  await page.getByRole('button', { name: 'Import 14 of 16 files' }).click();
  const board = page.getByTestId('study-board');
  await expect(page.getByTestId('study-totals')).toContainText('5 of 6 recordings imported', { timeout: 60_000 });
  const said = await becomes(page);
  expect(said['V02_adhesive-logger.csv']).toMatch(/^not imported: .*V02_adhesive-logger\.csv.*line/);
  expect(said['V02_chest-band.edf']).toBe('imported');
  expect(said['V01_segments.csv']).toBe('imported');
  await expect(board.locator('tr', { hasText: 'V02' }).filter({ hasText: 'not imported' })).toHaveCount(1);

  // source: study-folder.ts: 90 s each; V03 comes without segments, so it has those of the protocol
  const v03 = board.locator('tr', { hasText: 'V03' }).filter({ hasText: 'chest-band' }).locator('td');
  await expect(v03.nth(1)).toHaveText(/^0?1:30/);
  await expect(v03.nth(3)).toHaveText('2');

  // The mended file is taken where the broken one was; its lists are still there.
  const mended = { name: 'V02_adhesive-logger.csv', mimeType: 'text/csv', buffer: whole };
  await page.getByTestId('study-files').setInputFiles(mended);
  await pattern.fill('{participant}_{recorder}*');
  await page.getByLabel('take training/V02_adhesive-logger.csv').uncheck();
  await page.getByRole('button', { name: 'Import 3 of 17 files' }).click();
  await expect(page.getByTestId('study-totals')).toContainText('6 of 6 recordings imported', { timeout: 60_000 });
  // Each line opens its own recorder, and the way back is in the head.
  for (const recorder of ['adhesive-logger', 'chest-band', 'adhesive-logger']) {
    await board.getByRole('link', { name: `V02, ${recorder}` }).click();
    await ready(page);
    await expect(page.locator('.workspace-head')).toContainText(`rater R1 · ${recorder}`);
    await page.locator('.workspace-head').getByRole('link', { name: 'Study' }).click();
    await expect(page.getByRole('heading', { name: 'Training folder' })).toBeVisible();
  }
  await board.getByRole('link', { name: 'V02, chest-band' }).click();
  await ready(page);
  // Only once: a reload must come back to whichever recorder is current then.
  expect(page.url()).toMatch(/#\/review\/[^/]+$/);
  // source: the list of marks in the folder
  const beats = readFileSync(join(folder, 'V02_adhesive-logger_beats.csv'), 'utf8').trim().split('\n').length - 1;
  await page.goBack();
  const row = board.locator('tr', { hasText: 'V02' }).filter({ hasText: 'adhesive-logger' }).locator('td');
  await expect(row.nth(2)).toHaveText(String(beats));
});

test('a dropped folder is looked through; stopping keeps the volunteers that are whole', async ({ page }, info) => {
  const folder = info.outputPath('day');
  await writeStudyFolder(folder, ['V01']);
  writeLongFile(join(folder, 'V02_chest-band.edf'));
  truncateSync(join(folder, 'V01_adhesive-logger_beats.csv'), 0);
  await newStudy(page, 'Dropped folder');
  await drop(page, folder);
  await expect(page.getByTestId('import-summary')).toHaveText(
    '6 files: 3 recordings of 2 volunteers; 2 without a list of marks: those in the file, else the built-in detector’s; 1 left out.',
  );
  expect((await becomes(page))['V01_adhesive-logger_beats.csv']).toMatch(/^left out: .*empty/);
  await page.getByRole('button', { name: 'Import 5 of 6 files' }).click();
  await expect(page.getByRole('progressbar', { name: 'reading day/V02_chest-band.edf' })).toBeVisible();
  await page.getByRole('button', { name: 'Cancel' }).click();
  await expect(page.getByTestId('study-totals')).toContainText('2 of 2 recordings imported', { timeout: 60_000 });
  expect(await becomes(page)).toMatchObject({
    'V01_chest-band.edf': 'imported',
    'V02_chest-band.edf': 'recording of V02, chest-band',
  });
  await page.goto('/');
  await expect(page.getByRole('link', { name: 'Dropped folder' })).toHaveCount(1);
  await expect(page.getByText(/V02/).filter({ hasText: 'interrupted' })).toHaveCount(0);
});
