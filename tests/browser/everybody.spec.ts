import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { chromium, expect, type Page, test } from '@playwright/test';
import { lockBlocks } from '../../src/formats/locked/locked';
import { sideways, sound } from './axe';
import { fiveMinutes } from './five-minutes';
import { giveFiles, readFiles, sampleFile } from './import-page';
import { openBundle, ready } from './page';
import * as given from './two-raters';

const { bundle } = fiveMinutes();

async function sheet(page: Page, key: string, what: string): Promise<void> {
  await page.keyboard.press(key);
  await expect(page.getByRole('dialog')).toBeVisible();
  await sound(page, what);
  await page.keyboard.press('Escape');
  await expect(page.getByRole('dialog')).toHaveCount(0);
}

/** source: WCAG 2.2, 1.4.4: 200 % of a page of 1440 x 900 leaves 720 x 450. Nothing is cut off sideways. */
async function fitsTwiceAsLarge(page: Page, what: string): Promise<void> {
  const before = page.viewportSize()!;
  await page.setViewportSize({ width: 720, height: 450 });
  expect.soft(await sideways(page), what).toBeLessThanOrEqual(0);
  const beyond = await page
    .locator('dialog :is(button, input, select), .compare-side, .compare-numbers')
    .evaluateAll(all =>
      all.filter(e => e.getBoundingClientRect().right > innerWidth).map(e => e.outerHTML.slice(0, 80)),
    );
  expect.soft(beyond, what).toEqual([]);
  await page.setViewportSize(before);
}

test('importing, step by step, and a locked bundle', async ({ page }) => {
  await giveFiles(page, [
    sampleFile('chest-minute.csv'),
    sampleFile('chest-minute-marks.csv'),
    sampleFile('chest-minute-segments.csv'),
    sampleFile('logger-minute.edf'),
    { name: 'words.dat', mimeType: '', buffer: Buffer.alloc(6000, 7) },
  ]);
  for (const details of await page.getByRole('dialog').locator('details:not([open]) > summary').all())
    await details.click();
  await sound(page, 'import, what the files are');
  await page.getByRole('region', { name: 'words.dat', exact: true }).getByLabel('taken for').selectOption('left out');
  await readFiles(page);
  await sound(page, 'import, what was read');
  await page.keyboard.press('Escape');

  const parts: Uint8Array[] = [];
  for await (const part of lockBlocks([bundle], 'three ropes')) parts.push(part.slice());
  const buffer = Buffer.concat(parts);
  await page.getByTestId('file-input').setInputFiles({ name: 'kept.zip.locked', mimeType: '', buffer });
  await page.getByLabel('passphrase of kept.zip.locked').fill('four ropes');
  await page.keyboard.press('Enter');
  await expect(page.getByText('This passphrase does not open')).toBeVisible();
  await sound(page, 'passphrase');
});

test('comparing, settling and the report', async ({ page }) => {
  const r1 = given.reviewOfR1();
  await openBundle(page, 'both.zip', given.bundleOf([r1, given.reviewOfR2()]), given.session.title);
  await page.getByRole('link', { name: 'Compare with other reviews' }).click();
  await expect(page.getByTestId('agreement-band')).toBeVisible();
  await page.getByTestId('verdict-tables').locator('summary').click();
  await page.keyboard.press('n');
  await sound(page, 'compare');
  await page.getByRole('button', { name: 'Settle as supervisor …' }).click();
  await sound(page, 'supervisor');
  await page.getByTestId('supervisor-code').fill('S1');
  await page.keyboard.press('Enter');
  await page.getByRole('button', { name: 'Begin settling R1 and R2' }).click();
  await expect(page.getByTestId('left-to-settle')).toHaveText('4 to settle');
  await page.keyboard.press('n');
  await sound(page, 'settle');
  await sheet(page, 'y', 'settle with a reason');
  await sheet(page, 'j', 'spot check');
  await page.goto(`/#/report/${given.session.id}`);
  await expect(page.getByTestId('report').locator('h1')).toBeVisible({ timeout: 60_000 });
  await sound(page, 'report');
  await fitsTwiceAsLarge(page, 'report');
  await page.goto(`/#/compare/${given.session.id}`);
  await expect(page.getByTestId('agreement-band')).toBeVisible();
  await fitsTwiceAsLarge(page, 'compare');
});

test('a lesson, its result, clocks, the protocol, and a screen that broke', async ({ page }) => {
  await page.goto('/#/practice/mixed/2/class-a');
  await ready(page);
  await sound(page, 'lesson');
  await page.keyboard.press('d');
  await expect(page.getByRole('dialog')).toBeVisible();
  await sound(page, 'done with a lesson');
  await page.keyboard.press('Enter');
  await expect(page.getByTestId('points')).toBeVisible();
  await page.keyboard.press('n');
  await sound(page, 'result of a lesson');

  const v01 = readFileSync(join(import.meta.dirname, '../../sample-sessions/sessions/V01.zip'));
  await openBundle(page, 'V01.zip', v01, 'V01, training day');
  await sheet(page, 'Shift+c', 'clocks');
  await sheet(page, 'm', 'protocol');
  await page.keyboard.press('Shift+g');
  await fitsTwiceAsLarge(page, 'segments');
  await page.keyboard.press('Escape');
  await inForcedColours(page);
  await page.keyboard.press('m');
  await page.getByRole('button', { name: 'Change …' }).click();
  await sound(page, 'protocol being changed');
  await page.keyboard.press('Escape');

  await page.evaluate(() => {
    const { toFixed } = Number.prototype;
    Number.prototype.toFixed = () => {
      throw new Error('broken on purpose');
    };
    Object.assign(window, { mend: () => Object.assign(Number.prototype, { toFixed }) });
  });
  await page.keyboard.press('ArrowRight');
  await expect(page.getByRole('heading', { name: 'Something went wrong on this screen' })).toBeVisible();
  await page.evaluate(() => void (window as unknown as { mend(): void }).mend());
  await sound(page, 'a screen that broke');
});

/** The strip is drawn with the system's own colours: paper, ink and the selected beat can be told apart. */
async function inForcedColours(page: Page): Promise<void> {
  await page.emulateMedia({ forcedColors: 'active' });
  const coloursOf = (selector: string) =>
    page
      .locator(`${selector} > canvas`)
      .last()
      .evaluate((canvas: HTMLCanvasElement) => {
        const { data } = canvas.getContext('2d')!.getImageData(0, 0, canvas.width, canvas.height);
        const counts = new Map<number, number>();
        for (const colour of new Uint32Array(data.buffer)) counts.set(colour, (counts.get(colour) ?? 0) + 1);
        return [...counts.values()].filter(n => n > 100).length;
      });
  for (const host of ['.strip-host', '.map-host']) await expect.poll(() => coloursOf(host)).toBeGreaterThan(2);
  await page.emulateMedia({ forcedColors: 'none' });
}

test('with letters set half as large again in the browser, words on paper and page follow and nothing is cut off', async ({
  launchOptions,
  baseURL,
}, info) => {
  const folder = info.outputPath('profile');
  mkdirSync(join(folder, 'Default'), { recursive: true });
  const preferences = { webkit: { webprefs: { default_font_size: 24 } } };
  writeFileSync(join(folder, 'Default/Preferences'), JSON.stringify(preferences));
  const viewport = { width: 1440, height: 900 };
  // Only the full browser reads a person's settings.
  const executablePath = process.env['FULL_CHROMIUM_PATH'] ?? launchOptions.executablePath!;
  const options = { ...launchOptions, executablePath, baseURL: baseURL!, viewport };
  const context = await chromium.launchPersistentContext(folder, options);
  const page = await context.newPage();
  await openBundle(page, 'both.zip', given.bundleOf([given.reviewOfR1(), given.reviewOfR2()]), given.session.title);
  expect(await page.evaluate(() => getComputedStyle(document.documentElement).fontSize)).toBe('21px');
  for (const screen of [
    `#/review/${given.session.id}`,
    `#/compare/${given.session.id}`,
    '#/study',
    '#/practice',
    '#/',
  ]) {
    await page.goto(`/${screen}`);
    await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
    expect.soft(await sideways(page), screen).toBeLessThanOrEqual(0);
  }
  await context.close();
});

test('with large text on a small screen two recorders keep traces tall enough to read', async ({ page }) => {
  await page.setViewportSize({ width: 1024, height: 768 });
  const v01 = readFileSync(join(import.meta.dirname, '../../sample-sessions/sessions/V01.zip'));
  await openBundle(page, 'V01.zip', v01, 'V01, training day');
  await page.keyboard.press('Shift+s');
  await page.getByLabel('large text').check();
  await page.keyboard.press('Escape');
  await page.keyboard.press('b');
  const bands = page.locator('.strip-band');
  const heights = () => bands.evaluateAll(all => all.map(band => band.clientHeight));
  await expect.poll(async () => (await heights()).length).toBe(2);
  // 25 mm of paper at 96 px an inch: an R wave of 2 mV at 10 mm/mV and what lies below it.
  expect(Math.min(...(await heights()))).toBeGreaterThanOrEqual(94);
  expect(await page.evaluate(() => document.documentElement.scrollHeight - innerHeight)).toBeLessThanOrEqual(0);
  await expect(page.getByTestId('ledger-chest-band')).toBeInViewport();
  await expect(page.getByTestId('queue').getByRole('heading')).toBeInViewport();
  await sound(page, 'two recorders with large text');
});
