import { expect, type Page, test } from '@playwright/test';
import { fiveMinutes } from './five-minutes';
import { ready, saved } from './page';
import { serveBuilt } from './two-versions';

test.use({ serviceWorkers: 'allow' });

const { session, bundle } = fiveMinutes();

async function controlled(page: Page): Promise<void> {
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
}

async function open(page: Page): Promise<void> {
  await page.getByTestId('file-input').setInputFiles({ name: 'five.zip', mimeType: 'application/zip', buffer: bundle });
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
}

test('after the first visit the page works with no server at all', async ({ page }) => {
  const served = await serveBuilt();
  await page.goto(served.address);
  await controlled(page);
  const sample = page.getByRole('button', { name: 'V01, training day', exact: true });
  await sample.click();
  await ready(page);
  served.close();

  await page.goto(served.address);
  await page.reload();
  await sample.click();
  await ready(page);
  await page.goto(`${served.address}#/`);
  await open(page);
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('k');
  await saved(page);
  // The worker that looks through the signal is kept as well.
  await page.keyboard.press('n');
  await page.reload();
  await ready(page);
  await expect(page.getByTestId('saving')).toHaveText(/^saved, [1-9]/);
});

test('a sample that was never opened says what it needs when there is no network', async ({ page }) => {
  const served = await serveBuilt();
  await page.goto(served.address);
  await controlled(page);
  served.close();
  await page.reload();
  await page.getByRole('button', { name: 'V02, training day', exact: true }).click();
  await expect(page.getByRole('alert')).toContainText('needs the network');
});

test('a newer page waits until the rater takes it, and takes nothing from the review', async ({ page }) => {
  const served = await serveBuilt();
  await page.goto(served.address);
  await controlled(page);
  await open(page);
  served.handOutNewer();
  const here = await page.evaluate(() => {
    Object.assign(window, { sameDocument: true });
    return navigator.serviceWorker.getRegistration().then(r => r!.update().then(() => true));
  });
  expect(here).toBe(true);
  const offer = page.getByRole('button', { name: 'Update now' });
  await expect(offer).toBeVisible();
  for (let i = 0; i < 20; i++) {
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('k');
  }
  expect(await page.evaluate(() => 'sameDocument' in window)).toBe(true);
  await expect(page).toHaveTitle('Beat Ledger');
  await offer.click();
  await expect(page).toHaveTitle('Newer Beat Ledger');
  await ready(page);
  await expect(page.getByTestId('saving')).toHaveText(/^saved, (20|21|22) entries/);
  served.close();
});

test('a tab beside the one that took the newer page is not reloaded', async ({ context, page }) => {
  const served = await serveBuilt();
  await page.goto(served.address);
  await controlled(page);
  const beside = await context.newPage();
  await beside.goto(served.address);
  await beside.evaluate(() => Object.assign(window, { sameDocument: true }));
  served.handOutNewer();
  await page.evaluate(() => navigator.serviceWorker.getRegistration().then(async r => void (await r!.update())));
  await page.getByRole('button', { name: 'Update now' }).click();
  await expect(page).toHaveTitle('Newer Beat Ledger');
  await expect(beside.getByText('Another tab updated this page')).toBeVisible();
  expect(await beside.evaluate(() => 'sameDocument' in window)).toBe(true);
  served.close();
});
