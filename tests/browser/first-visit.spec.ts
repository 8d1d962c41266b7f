import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { expect, type Page, test } from '@playwright/test';
import { fiveMinutes } from './five-minutes';
import { ready } from './page';
import { serveBuilt } from './two-versions';

test.use({ serviceWorkers: 'allow' });

const dist = join(import.meta.dirname, '../../dist');
const { session, bundle } = fiveMinutes();

/** Most bytes, gzipped, that the scripts may have which the first page names. */
const firstVisitBytes = 130_000;

test('the scripts that the first page names are small together', () => {
  const html = readFileSync(join(dist, 'index.html'), 'utf8');
  const named = [...html.matchAll(/(?:src|href)="\.\/([^"]+\.js)"/g)].map(m => m[1]!);
  expect(named.length).toBeGreaterThan(0);
  const bytes = named.reduce((sum, name) => sum + gzipSync(readFileSync(join(dist, name)), { level: 6 }).length, 0);
  expect(bytes).toBeLessThanOrEqual(firstVisitBytes);
});

/** What each screen's code is called in the built page, and what shows that it is there. */
const screens = [
  { name: 'practice', open: '#/practice', shows: (page: Page) => page.getByRole('heading', { name: 'Practice' }) },
  { name: 'study', open: '#/study', shows: (page: Page) => page.getByRole('heading', { level: 1 }) },
  { name: 'report', open: `#/report/${session.id}`, shows: (page: Page) => page.getByTestId('report') },
  { name: 'compare', open: `#/compare/${session.id}`, shows: (page: Page) => page.getByTestId('closed') },
] as const;

test('a screen is fetched when it is opened, not before', async ({ page }) => {
  const fetched: string[] = [];
  page.on('request', request => fetched.push(new URL(request.url()).pathname));
  const has = (name: string) => fetched.some(path => new RegExp(`/assets/${name}-[\\w-]+\\.js$`).test(path));
  await page.goto('/');
  await expect(page.getByRole('button', { name: 'V01, training day', exact: true })).toBeVisible();
  for (const name of [...screens.map(s => s.name), 'help-sheets', 'import-sheet', 'review-screen'])
    expect(has(name), name).toBe(false);
  await page.keyboard.press('?');
  await expect(page.getByRole('dialog')).toBeVisible();
  expect(has('help-sheets')).toBe(true);
  await page.keyboard.press('Escape');
  await page.goto('/#/practice');
  await expect(screens[0].shows(page).first()).toBeVisible();
  expect(has('practice')).toBe(true);
  expect(has('study')).toBe(false);
});

test('without a network every screen opens after one visit to the first page', async ({ page }) => {
  const served = await serveBuilt();
  await page.goto(served.address);
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  await page.getByTestId('file-input').setInputFiles({ name: 'five.zip', mimeType: 'application/zip', buffer: bundle });
  await expect(page.getByRole('link', { name: session.title })).toBeVisible();
  served.close();
  await page.goto(served.address);
  await page.reload();
  await page.getByTestId('rater-code').fill('R1');
  for (const { name, open, shows } of screens) {
    await page.goto(`${served.address}${open}`);
    await expect(shows(page).first(), name).toBeVisible({ timeout: 60_000 });
  }
  await page.goto(`${served.address}#/`);
  await page.keyboard.press('?');
  await expect(page.getByRole('dialog')).toBeVisible();
  await page.keyboard.press('Escape');
  const text = Buffer.from(
    `time (s),ECG (uV)\n${Array.from({ length: 900 }, (_, i) => `${i * 0.004},${i % 90}`).join('\n')}\n`,
  );
  await page.getByTestId('file-input').setInputFiles({ name: 'strip.csv', mimeType: 'text/csv', buffer: text });
  await expect(page.getByRole('dialog', { name: 'Open files' })).toBeVisible();
  await page.keyboard.press('Escape');
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
});

test('keys for every screen work on the first page, and an address cut off by hand breaks nothing', async ({
  page,
}) => {
  await page.goto('/');
  await expect(page.getByRole('heading', { name: 'Beat Ledger' })).toBeVisible();
  await page.keyboard.press('!');
  await expect(page.getByRole('dialog')).toBeVisible();
  await page.keyboard.press('Escape');
  await expect(page.getByRole('dialog')).toHaveCount(0);
  for (const address of ['/#/review/%', '/#/practice/%E0%A4%A', '/#/study/%']) {
    await page.goto(address);
    await page.reload();
    await expect(page.getByRole('heading', { name: 'This screen broke down' })).toHaveCount(0);
    await expect(page.getByRole('link').first()).toBeVisible();
  }
});
