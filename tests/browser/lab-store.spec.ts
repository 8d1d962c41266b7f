import { join } from 'node:path';
import { type Browser, expect, type Page, test } from '@playwright/test';
import installServers from '../remote/install';
import { apache, startServer, type TestServer } from '../remote/server';
import { sideways, sound } from './axe';
import { ready, saved } from './page';
import * as given from './two-raters';

/** The page and a lab's store on a real Apache: a supervisor, two raters and a settler, each in a browser of their own. */
test.describe.configure({ mode: 'serial' });

let server: TestServer;
const study = 'trial-1';
const { session, segmentNames } = given;
const site = () => new URL('/', server.base).href;

test.beforeAll(async () => {
  installServers();
  server = await startServer(apache, undefined, join(import.meta.dirname, '../../dist'));
});
test.afterAll(() => server.remove());

/** The code that sends a review. */
const sendingCode = /\/own-logs-[^/]+\.js$/;

async function signedIn(
  browser: Browser,
  code: string,
  before: (page: Page) => unknown = () => undefined,
): Promise<Page> {
  const page = await (await browser.newContext()).newPage();
  await before(page);
  await page.goto(site());
  await signIn(page, code);
  return page;
}

async function signIn(page: Page, code: string, password = `pw-${code}`, of = study): Promise<void> {
  await page.goto(`${site()}#/lab-store`);
  await page.getByLabel('study', { exact: true }).fill(of);
  await page.getByLabel('your code').fill(code);
  await page.getByLabel('password').fill(password);
  await page.getByRole('button', { name: 'Sign in' }).click();
}

const sent = (page: Page) => page.getByTestId('sent');
const line = (page: Page, code: string) => page.locator(`tr[data-line="${code}/${session.id}"]`);

async function fetchAndOpen(page: Page): Promise<void> {
  await page.getByRole('button', { name: `Fetch ${session.id}` }).click();
  await page.getByRole('link', { name: `Open ${session.id}` }).click();
  await ready(page);
  // Before its signal is here nothing can be said about a page.
  await expect(page.getByText('all signals are kept in this browser')).toBeVisible();
}

/** Keeps the next mark. Nothing is kept before its signal is on the screen, which is said; then once more. */
async function keepNext(page: Page): Promise<void> {
  await page.keyboard.press('ArrowRight');
  await expect(async () => {
    await page.keyboard.press('k');
    await expect(page.getByTestId('said')).toHaveText('Kept.', { timeout: 3000 });
  }).toPass({ timeout: 30_000 });
  await saved(page);
}

/** Looks at everything, signs off both segments and finishes. */
async function finish(page: Page): Promise<void> {
  const press = (key: string) => page.keyboard.press(key);
  for (const [i, name] of segmentNames.entries()) {
    await press('Home');
    for (let k = 0; k < i; k++) await press('PageDown');
    const coverage = page.getByTestId('ledger-band').locator(`tr[data-segment="${name}"] [data-cell="coverage"]`);
    for (let k = 0; k < 60 && (await coverage.textContent()) !== '100 % looked at'; k++) await press('Enter');
    await press('Home');
    for (let k = 0; k < i; k++) await press('PageDown');
    await press('o');
    await expect(coverage).toHaveText('signed off');
  }
  await press('Control+Enter');
  await page.keyboard.press('Tab');
  await page.getByRole('button', { name: 'Finish', exact: true }).press('Enter');
  await expect(page.getByTestId('saving')).toContainText('review finished');
  await saved(page);
}

/** What a rater could try in the browser's console. */
function statusOf(page: Page, code: string, method: string, path: string): Promise<number> {
  const authorization = `Basic ${btoa(`${code}:pw-${code}`)}`;
  return page.evaluate(
    async ([m, p, a]) => {
      const headers = { authorization: a!, depth: '1' };
      return (await fetch(p!, { method: m!, credentials: 'omit', cache: 'no-store', headers })).status;
    },
    [method, `/study/${study}/${path}`, authorization],
  );
}

test('assigned, reviewed offline and online, blind until signed off, compared and reported', async ({ browser }) => {
  test.setTimeout(300_000);
  const boss = await signedIn(browser, 'boss');
  await expect(boss.getByTestId('signed-in')).toHaveText(`boss, supervisor, study ${study}`);
  await boss.goto(`${site()}#/`);
  const file = { name: 'session.zip', mimeType: 'application/zip', buffer: given.bundleOf([]) };
  await boss.getByTestId('file-input').setInputFiles(file);
  await expect(boss.getByRole('link', { name: session.title })).toBeVisible();
  await boss.goto(`${site()}#/lab-store`);
  await boss.getByRole('checkbox', { name: session.title }).check();
  await boss.getByLabel('codes of the raters').fill('R1, R2');
  await boss.getByLabel('code of who settles').fill('A1');
  await boss.getByLabel('sessions rated twice').fill('100');
  await boss.getByRole('button', { name: 'Send and assign' }).click();
  await expect(line(boss, 'R1').locator('[data-cell="state"]')).toHaveText('not begun');
  await expect(line(boss, 'R2')).toBeVisible();
  await expect(line(boss, 'A1')).toBeVisible();

  // What sends is fetched on signing in, before it is needed.
  let sendingHere: Promise<unknown> = Promise.resolve();
  const r1 = await signedIn(browser, 'R1', page => {
    sendingHere = page.waitForResponse(sendingCode);
  });
  await sendingHere;
  const r2 = await signedIn(browser, 'R2', page => page.route(sendingCode, route => route.abort()));
  for (const page of [r1, r2]) await fetchAndOpen(page);
  await expect(r1.locator('header.steady')).toContainText('rater R1');

  // Where it could not be fetched, that is said as well, and it is tried again.
  await keepNext(r2);
  await expect(sent(r2)).toHaveText('not sent: offline');
  await r2.unroute(sendingCode);
  await r2.evaluate(() => window.dispatchEvent(new Event('online')));
  await expect(sent(r2)).toHaveText(/^sent, [1-9]\d* entr/);

  // Offline: saved is one word, sent another.
  await r1.context().setOffline(true);
  await keepNext(r1);
  await expect(sent(r1)).toHaveText('not sent: offline');
  // Who removes the session now, or signs out, is told; and signs in again where it is.
  await r1.goto(`${site()}#/`);
  await r1.getByRole('button', { name: `Remove … ${session.title}` }).click();
  await expect(r1.getByText('Your review of it was not sent in full. Remove it with all reviews?')).toBeVisible();
  await r1.getByRole('button', { name: 'Keep' }).click();
  await r1.goto(`${site()}#/lab-store`);
  await r1.getByRole('button', { name: 'Sign out' }).click();
  await expect(r1.getByText(`Not everything was sent: ${session.id}.`)).toBeVisible();
  await r1.context().setOffline(false);
  await signIn(r1, 'R1');
  await r1.getByRole('link', { name: `Open ${session.id}` }).click();
  await ready(r1);
  await expect(sent(r1)).toHaveText(/^sent, \d+ entr/, { timeout: 40_000 });

  // The server goes away in the middle of R2's work and comes back.
  await server.stop('SIGKILL');
  await keepNext(r2);
  await expect(sent(r2)).toHaveText(/^not sent: (offline|the store is busy)$/);
  await server.start();
  await expect(sent(r2)).toHaveText(/^sent, \d+ entr/, { timeout: 40_000 });

  // Blind: neither reads the other's log by any address while it is not signed off.
  for (const [page, own, other] of [
    [r1, 'R1', 'R2'],
    [r2, 'R2', 'R1'],
  ] as const) {
    expect(await statusOf(page, own, 'PROPFIND', `logs/${own}/${session.id}/`)).toBe(207);
    for (const path of [
      `logs/${other}/${session.id}/`,
      `logs/${other}/`,
      'logs/',
      `done/${other}/`,
      `after/${other}/`,
      '',
    ]) {
      for (const method of ['GET', 'PROPFIND']) {
        expect([path, method, await statusOf(page, own, method, path)]).toEqual([path, method, 401]);
      }
    }
  }

  await finish(r1);
  await expect(sent(r1)).toHaveText(/^sent, \d+ entries · signed off$/, { timeout: 40_000 });
  expect(await statusOf(r1, 'R1', 'PROPFIND', `logs/R2/${session.id}/`)).toBe(207);
  expect(await statusOf(r2, 'R2', 'PROPFIND', `logs/R1/${session.id}/`)).toBe(401);
  await finish(r2);
  await expect(sent(r2)).toHaveText(/signed off$/, { timeout: 40_000 });
  // R1's review has come over the store, and can be compared.
  await expect(r2.getByRole('link', { name: 'Compare with other reviews' })).toBeVisible();

  await expect(line(boss, 'R2').locator('[data-cell="state"]')).toHaveText('signed off', { timeout: 40_000 });
  await expect(line(boss, 'R1').locator('[data-cell="looked"]')).toHaveText('100 %');
  // The supervisor may still rate the session: its agreement is shown when they ask for it, and that is kept.
  await expect(line(boss, 'R1').locator('[data-cell="f1"]')).toHaveText('hidden');
  await expect(boss.getByTestId('store-drift')).toHaveCount(0);
  await expect(boss.getByTestId('hidden-agreement')).toContainText('a later review of it by boss says “not blind”');
  await sound(boss, 'hidden agreement');
  await boss.getByRole('button', { name: 'Show agreement' }).click();
  await expect(line(boss, 'R1').locator('[data-cell="f1"]')).toHaveText('1.000');
  await expect(boss.getByTestId('hidden-agreement')).toHaveCount(0);
  await expect(boss.getByTestId('store-totals')).toContainText(
    '2 of 3 signed off, 0 under way, 1 not begun, 0 overdue',
  );
  // Both looked at everything and found the same: one week each, nothing to settle.
  const week = boss.getByTestId('store-drift').locator('tr[data-week^="R1 "]');
  await expect(week).toContainText('1.000');
  await expect(week).toContainText('0.0');
  await expect(boss.getByTestId('to-settle')).toHaveCount(0);
  await sound(boss, 'board');
  for (const width of [1440, 1024]) {
    await boss.setViewportSize({ width, height: 768 });
    expect(await sideways(boss)).toBe(0);
  }
  await boss.getByRole('button', { name: 'Import signed-off reviews' }).click();
  await expect(boss.getByText('2 signed-off reviews were imported.')).toBeVisible();
  await boss.getByRole('button', { name: 'Write down heads' }).click();
  await expect(boss.getByText('Heads 1 were written down.')).toBeVisible();

  // The settler gets both reviews without being able to add to them.
  const settler = await signedIn(browser, 'A1');
  await settler.getByRole('button', { name: `Fetch ${session.id}` }).click();
  await settler.getByRole('link', { name: `Open ${session.id}` }).click();
  // The account is the code that differences are settled under.
  await expect(settler.getByTestId('supervisor-code')).toHaveValue('A1');
  await settler.getByRole('button', { name: 'Continue as supervisor' }).click();
  // To see the reviews is what A1 was given to do, and is not asked about.
  await expect(settler.getByTestId('agreement-band')).toBeVisible();
  await expect(settler.getByTestId('unblind')).toHaveCount(0);
  // How the settlement stands in the store is said beside how it is saved.
  await expect(sent(settler)).toHaveText('sent, 0 entries');

  // A report rests on what came over the store.
  await boss.goto(`${site()}#/report/${session.id}`);
  await expect(boss.getByTestId('report')).toContainText('R1', { timeout: 60_000 });
});

test('two people in two tabs of one browser each rate under their own account', async ({ browser }) => {
  const first = await signedIn(browser, 'R1');
  await expect(first.getByTestId('signed-in')).toContainText('R1, rater');
  const second = await first.context().newPage();
  await second.goto(site());
  await signIn(second, 'R2');
  await expect(second.getByTestId('signed-in')).toContainText('R2, rater');
  for (const [page, code] of [
    [first, 'R1'],
    [second, 'R2'],
  ] as const) {
    await page.goto(`${site()}#/`);
    await expect(page.getByTestId('rater-code')).toBeDisabled();
    await page.goto(`${site()}#/lab-store`);
    // What the first tab fetched is in the second one's browser.
    if (page === first) await page.getByRole('button', { name: `Fetch ${session.id}` }).click();
    await page.getByRole('link', { name: `Open ${session.id}` }).click();
    await ready(page);
    await expect(page.locator('header.steady')).toContainText(`rater ${code}`);
    await expect(sent(page)).toBeVisible();
  }
});

test('the batch after one for calibration is not for calibration by mistake', async ({ browser }) => {
  const boss = await (await browser.newContext()).newPage();
  await boss.goto(site());
  const file = { name: 'session.zip', mimeType: 'application/zip', buffer: given.bundleOf([]) };
  await boss.getByTestId('file-input').setInputFiles(file);
  await expect(boss.getByRole('link', { name: session.title })).toBeVisible();
  await signIn(boss, 'boss', 'pw-boss', 'trial-2');
  const isNew = boss.getByText('The store has no study trial-2 yet');
  await expect(isNew).toBeVisible();
  await boss.getByRole('checkbox', { name: session.title }).check();
  await boss.getByLabel('codes of the raters').fill('R1, R2');
  await boss.getByLabel('for calibration').check();
  await boss.getByRole('button', { name: 'Send and assign' }).click();
  await expect(boss.getByText('1 session was assigned.')).toBeVisible();
  await expect(isNew).toBeHidden();
  await expect(boss.getByLabel('for calibration')).not.toBeChecked();
});

test('a rater without anything to do, and one at a new machine', async ({ browser }) => {
  const idle = await signedIn(browser, 'R3');
  await expect(idle.getByTestId('assigned')).toHaveText('Nothing is assigned to you in this study yet.');
  await expect(idle.getByRole('button', { name: 'Refresh' })).toBeVisible();
  // What was signed off elsewhere is not said to be unsent.
  const elsewhere = await signedIn(browser, 'R1');
  await expect(elsewhere.locator('[data-cell="sent"]')).toHaveText('signed off');
});

test('a wrong or expired password is reported, and work goes on', async ({ browser }) => {
  const page = await (await browser.newContext()).newPage();
  await page.goto(site());
  await signIn(page, 'R1', 'pw-R1', 'trial-9');
  await expect(page.getByRole('alert')).toContainText('the store has no study trial-9');
  await signIn(page, 'audit', 'pw-audit', 'trial-8');
  await expect(page.getByRole('alert')).toContainText('the store has no study trial-8');
  await signIn(page, 'R1', 'wrong');
  await expect(page.getByRole('alert')).toContainText('the password was not accepted');
  await signIn(page, 'R1');
  await expect(page.getByTestId('assigned').first()).toBeVisible();
  server.setPassword('R1', 'another one');
  await page.getByRole('button', { name: 'Refresh' }).click();
  await expect(page.getByText('Not refreshed: sign in again')).toBeVisible();
  await page.getByRole('button', { name: 'Sign out' }).click();
  await signIn(page, 'R1', 'another one');
  await expect(page.getByTestId('signed-in')).toContainText('R1, rater');
});

test('who works alone is asked for no server', async ({ browser }) => {
  const page = await (await browser.newContext()).newPage();
  const asked: string[] = [];
  page.on('request', request => asked.push(request.url()));
  await page.goto(site());
  await page.getByRole('link', { name: 'Lab store' }).click();
  await expect(page.getByRole('heading', { name: 'Sign in' })).toBeVisible();
  expect(asked.filter(url => url.includes('/study/'))).toEqual([]);
});
