import { expect, test } from '@playwright/test';
import { fiveMinutes } from './five-minutes';
import { openBundle } from './page';

const { session, bundle } = fiveMinutes();

test('a page whose script cannot be read or fetched says why instead of staying empty', async ({ page }) => {
  const script = /\/assets\/index-[\w-]+\.js$/;
  await page.route(script, route => route.fulfill({ contentType: 'text/javascript', body: 'const = ;' }));
  await page.goto('/');
  await expect(page.getByRole('heading', { name: 'Beat Ledger could not start' })).toBeVisible();
  await expect(page.getByRole('alert')).toContainText('SyntaxError');
  await page.unroute(script);
  await page.route(script, route => route.abort());
  await page.reload();
  await expect(page.getByRole('alert')).toHaveText(/index-[\w-]+\.js could not be loaded\.$/);
});

// Some engines say "c" in a system without a locale.
test('a browser whose language is none opens a review', async ({ page }) => {
  await page.addInitScript(() => {
    Object.defineProperty(Navigator.prototype, 'language', { get: () => 'c', configurable: true });
  });
  await openBundle(page, 'five.zip', bundle, session.title);
  await expect(page.getByTestId('ledger-logger')).toBeVisible();
});
