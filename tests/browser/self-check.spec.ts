import { expect, test } from '@playwright/test';
import { appName, appVersion } from '../../src/core/report/version';
import { selfCheck } from '../../src/formats/self-check';
import { fiveMinutes } from './five-minutes';
import { openBundle } from './page';

test('the help sheet checks the known answers in this browser, for a study’s notes', async ({ page, context }) => {
  const { session, bundle } = fiveMinutes();
  await context.grantPermissions(['clipboard-read', 'clipboard-write']);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await page.keyboard.press('?');
  await page.getByRole('button', { name: 'Run self-check', exact: true }).click();
  const here = await selfCheck();
  await expect(page.getByTestId('self-check-outcome')).toHaveText(`All ${here.length} examples agree.`);
  const rows = page.getByRole('dialog').locator('tbody tr');
  await expect(rows).toHaveCount(here.length);
  // Readings of the browser, as Node on this machine finds them.
  expect(await rows.locator('td:nth-of-type(2)').allTextContents()).toEqual(here.map(f => f.found));
  await page.getByRole('button', { name: 'Copy as text' }).click();
  await expect(page.getByText('Copied.')).toBeVisible();
  const text = await page.evaluate(() => navigator.clipboard.readText());
  const agent = await page.evaluate(() => navigator.userAgent);
  expect(text.split('\n').slice(0, 2)).toEqual([`${appName} ${appVersion}`, agent]);
  expect(text).toContain('Quality\twithout 5.5\t');
  expect(text).not.toContain('\tNO\t');
});

test('the start page has the same check, and what the keys do, before anything is opened', async ({ page }) => {
  await page.goto('./');
  await page.getByRole('button', { name: 'What the keys do' }).click();
  await expect(page.getByRole('table', { name: 'Judge' })).toBeVisible();
  await page.keyboard.press('Escape');
  await expect(page.getByRole('dialog')).toHaveCount(0);
  await page.getByRole('button', { name: 'Run self-check' }).click();
  await expect(page.getByTestId('self-check-outcome')).toHaveText(/^All \d+ examples agree\.$/);
});
