import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { test as base, expect, type Page } from '@playwright/test';
import { writeBundle } from '../../src/formats/bundle/writer';
import { fiveMinutes } from './five-minutes';
import { type Outside, watchOutside, watchPolicy, watchRequests } from './outside';
import { exported, goTo, openBundle, saved } from './page';

const { session, bundle, ecg } = fiveMinutes();

/** Every test runs behind a proxy that only watches. */
const test = base.extend<object, { outside: Outside }>({
  outside: [
    async ({ browserName: _ }, use) => {
      const outside = await watchOutside();
      await use(outside);
      outside.close();
    },
    { scope: 'worker' },
  ],
  // The browser itself asks its maker what the fields of a form may be: that is not the page's doing.
  launchOptions: [
    async ({ launchOptions }, use) =>
      use({
        ...launchOptions,
        args: [...(launchOptions.args ?? []), '--disable-features=AutofillServerCommunication'],
      }),
    { scope: 'worker' },
  ],
  proxy: async ({ outside }, use) => use({ server: outside.server, bypass: 'localhost' }),
});

test.use({ serviceWorkers: 'allow' });

test('nothing leaves the page, and its policy has nothing to stop', async ({ context, page, outside, baseURL }) => {
  const stopped = await watchPolicy(page);
  const foreign = watchRequests(context, new URL(baseURL!).origin);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await review(page);
  await sheets(page);
  await everyExport(page);
  for (const screen of ['#/practice', '#/study', '#/']) {
    await page.goto(`/${screen}`);
    await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
  }
  await page.getByRole('button', { name: 'V01, training day' }).click();
  await expect(page.getByTestId('beat-description')).not.toBeEmpty();
  await page.keyboard.press('n');
  expect(stopped).toEqual([]);
  expect(foreign).toEqual([]);
  expect(outside.asked).toEqual([]);
});

async function review(page: Page): Promise<void> {
  await goTo(page, 30);
  for (const key of [
    'ArrowRight',
    'k',
    'ArrowRight',
    '.',
    'i',
    'Delete',
    'z',
    'n',
    'w',
    '+',
    '-',
    '1',
    '2',
    '3',
    'Enter',
  ])
    await page.keyboard.press(key);
  await saved(page);
}

async function sheets(page: Page): Promise<void> {
  for (const key of ['?', 'g', 'c', 'f', 'o', 'Shift+o', 'Control+Enter', 'Shift+s', 'Shift+g', 'e']) {
    await page.keyboard.press(key);
    await expect(page.getByRole('dialog')).toBeVisible();
    await page.keyboard.press('Escape');
    await expect(page.getByRole('dialog')).toHaveCount(0);
  }
}

async function everyExport(page: Page): Promise<void> {
  await exported(page, 'Results table', 2);
  for (const name of [
    'Reviewed marks',
    'RR intervals',
    'EDF+ annotations',
    'EDF+ with signal',
    'Audit trail',
    'Session bundle',
    'Bundle for a blind rater',
    'Strip picture, SVG',
    'Strip picture, PNG',
  ]) {
    const [file] = await exported(page, name);
    expect(file!.bytes.length).toBeGreaterThan(0);
  }
}

test('a hostile bundle’s names are shown as text and run nothing', async ({ page }) => {
  const stopped = await watchPolicy(page);
  const script = '<img src=x onerror="window.ran = true"><script>window.ran = true</script>';
  const [item] = session.recordings;
  const recording = { ...item!.recording, recorder: script, source: script };
  const segments = [{ ...item!.segments[0]!, name: script }];
  const hostile = { ...session, title: script, recordings: [{ ...item!, recording, segments }] };
  const bytes = Buffer.from(writeBundle({ session: hostile, logs: [] }, () => ecg.leads[0]!));
  await openBundle(page, 'hostile.zip', bytes, script);
  await expect(page.getByRole('heading', { level: 1 })).toHaveText(script);
  await expect(page.getByTestId('ledger-logger')).toContainText(script);
  await page.keyboard.press('e');
  await expect(page.getByRole('dialog')).toContainText(script);
  expect(await page.evaluate(() => 'ran' in window)).toBe(false);
  expect(await page.locator('img, main script').count()).toBe(0);
  expect(stopped).toEqual([]);
});

test('the watchers see what they watch for', async ({ context, page, outside, baseURL }) => {
  const stopped = await watchPolicy(page);
  const foreign = watchRequests(context, new URL(baseURL!).origin);
  await page.goto('/');
  await page.evaluate(() => fetch('http://elsewhere.invalid/').catch(() => undefined));
  await page.evaluate(() => document.body.insertAdjacentHTML('beforeend', '<b style="color: red">b</b>'));
  // The page's own policy and that of the server each tell.
  const told = () => [...new Set(stopped)];
  await expect.poll(() => told().length).toBe(2);
  expect(told()[0]).toMatch(/^connect-src http:\/\/elsewhere\.invalid/);
  expect(told()[1]).toMatch(/^style-src-attr inline/);
  const before = outside.asked.length;
  const other = await context.newPage();
  await other.goto('http://elsewhere.invalid/').catch(() => undefined);
  expect(outside.asked.slice(before)).toEqual(['http://elsewhere.invalid/']);
  expect(foreign).toContain('http://elsewhere.invalid/');
  outside.asked.length = 0;
});

test('the built files name no script, style or font from elsewhere', () => {
  const dist = join(import.meta.dirname, '../../dist');
  const html = readFileSync(join(dist, 'index.html'), 'utf8');
  expect(html).toContain("default-src 'none'");
  expect(html).not.toMatch(/(src|href)="(https?:)?\/\//);
  expect(html).not.toMatch(/<style|style="|<script>|\son[a-z]+="/);
  const styles = readdirSync(join(dist, 'assets')).filter(f => f.endsWith('.css'));
  expect(styles.length).toBeGreaterThan(0);
  for (const file of styles)
    expect(readFileSync(join(dist, 'assets', file), 'utf8')).not.toMatch(/@import|@font-face|url\(/);
});
