import { expect, type Page, test } from '@playwright/test';
import { fiveMinutes } from './five-minutes';
import { keep, openBundle, saved } from './page';

const { session, bundle } = fiveMinutes();

test('a page whose script cannot be read or fetched says why instead of staying empty', async ({ page }) => {
  const script = /\/assets\/start-[\w-]+\.js$/;
  await page.route(script, route => route.fulfill({ contentType: 'text/javascript', body: 'const = ;' }));
  await page.goto('/');
  await expect(page.getByRole('heading', { name: 'Beat Ledger could not start' })).toBeVisible();
  await expect(page.getByRole('alert')).toContainText('SyntaxError');
  await page.unroute(script);
  await page.route(script, route => route.abort());
  await page.reload();
  await expect(page.getByRole('alert')).toHaveText(/start-[\w-]+\.js could not be loaded\.$/);
});

// Some engines say "c" in a system without a locale.
test('a browser whose language is none opens a review', async ({ page }) => {
  await page.addInitScript(() => {
    Object.defineProperty(Navigator.prototype, 'language', { get: () => 'c', configurable: true });
  });
  await openBundle(page, 'five.zip', bundle, session.title);
  await expect(page.getByTestId('ledger-logger')).toBeVisible();
});

/** Copies of the one session that is stored, written as the page stores them: titles V001 to V400. */
async function copySessions(page: Page, id: string, count: number): Promise<void> {
  await page.evaluate(
    async ([id, count]) => {
      const asked = <T>(request: IDBRequest<T>) =>
        new Promise<T>((resolve, reject) => {
          request.onsuccess = () => resolve(request.result);
          request.onerror = () => reject(request.error);
        });
      const database = await asked(indexedDB.open('beat-ledger'));
      const store = database.transaction('records', 'readwrite').objectStore('records');
      const session = await asked(store.get(['session', id]));
      const entry = await asked(store.get(['catalogue', id]));
      for (let i = 1; i <= count; i++) {
        const title = `V${String(i).padStart(3, '0')}, training day`;
        const recorders = i % 4 === 0 ? ['adhesive logger'] : ['chest band'];
        store.put({ ...session, id: `copy-${i}`, title }, ['session', `copy-${i}`]);
        store.put({ ...entry, id: `copy-${i}`, title, recorders }, ['catalogue', `copy-${i}`]);
      }
      await new Promise(resolve => {
        store.transaction.oncomplete = resolve;
      });
      database.close();
    },
    [id, count] as const,
  );
}

test('four hundred sessions: searched, filtered, grouped by study, and a file can be opened all the while', async ({
  page,
}) => {
  await openBundle(page, 'five.zip', bundle, session.title);
  await keep(page, 2);
  await saved(page);
  await page.getByRole('link', { name: 'Sessions' }).click();
  await copySessions(page, session.id, 400);
  await page.reload();
  await expect(page.getByTestId('sessions-shown')).toHaveText('50 of 401 shown');
  const rows = page.locator('tr[data-session]');
  await expect(rows).toHaveCount(50);
  await page.getByRole('button', { name: 'Show 50 more' }).click();
  await expect(rows).toHaveCount(100);
  await rows.last().scrollIntoViewIfNeeded();
  await expect(page.getByRole('button', { name: 'Choose files' })).toBeInViewport();

  await page.getByTestId('session-search').fill('v2 logger');
  await expect(page.getByTestId('sessions-shown')).toHaveText('25 of 25 shown, 401 in this browser');
  await page.getByTestId('session-search').fill('');
  await page.getByLabel('your review').selectOption('begun');
  await expect(rows).toHaveCount(1);
  await expect(rows.locator('[data-cell="looked at"]')).toHaveText(/^(under )?\d+ %$/);
  await expect(rows.locator('[data-cell="signed off"]')).toHaveText('0 of 1');
  await expect(page.getByTestId(`raters-${session.id}`)).toHaveText(/^R1: \d+ entries$/);
  await page.getByLabel('your review').selectOption('all');
  await page.getByLabel('order').selectOption('title');
  await expect(rows.nth(1)).toContainText('V001');
});

test('a sample stored with another signal keeps its review, and the sample is stored beside it', async ({ page }) => {
  const title = 'V04, training day';
  await openBundle(page, 'before.zip', fiveMinutes(0, 1, title).bundle, title);
  await keep(page, 1);
  await saved(page);
  await page.getByRole('link', { name: 'Sessions' }).click();
  await page.getByRole('button', { name: title, exact: true }).click();
  await expect(page.getByRole('alert')).toContainText('another session of this title is stored here');
  await expect(page.getByTestId('ledger-chest-band')).toBeVisible();
  await page.getByRole('link', { name: 'Sessions' }).click();
  const entries = page.locator('tr[data-session]').filter({ hasText: title });
  await expect(entries).toHaveCount(2);
  await expect(page.getByTestId(`raters-${session.id}`)).toHaveText(/^R1: \d+ entr(y|ies)$/);
});

test('a review that takes long to open says so, and can be cancelled', async ({ page }) => {
  await openBundle(page, 'five.zip', bundle, session.title);
  await page.getByRole('link', { name: 'Sessions' }).click();
  // Whatever asks for a lock waits for ever, as opening does while another tab is slow to let go.
  await page.evaluate(() => {
    LockManager.prototype.request = () => new Promise(() => undefined);
  });
  await page.getByRole('link', { name: session.title }).click();
  await expect(page.getByRole('status').filter({ hasText: 'Opening the review' })).toBeVisible();
  await expect(page.getByRole('progressbar', { name: 'Opening the review' })).toBeVisible();
  await page.getByRole('link', { name: 'Cancel' }).click();
  await expect(page.getByRole('heading', { name: 'Sessions in this browser' })).toBeVisible();
});
