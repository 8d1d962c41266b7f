import { expect, test } from '@playwright/test';
import { sideways, sound } from './axe';
import { fiveMinutes } from './five-minutes';
import { canHold, giveFiles, letGo, sampleFile, whenSeen } from './import-page';
import { openBundle, ready } from './page';

const { session, bundle } = fiveMinutes();

const sheetKeys = ['?', '!', 'g', 'c', 'f', 'o', 'Shift+o', 'Control+Enter', 'Shift+s', 'Shift+g', 'e'];

test('every screen passes axe in light and in dark', async ({ page }) => {
  for (const screen of ['#/', '#/practice', '#/study', '#/lab-store']) {
    await page.goto(`/${screen}`);
    await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
    await sound(page, screen);
  }
});

test('the review and every sheet of it pass axe in light and in dark', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await page.keyboard.press('ArrowRight');
  await sound(page, 'review');
  for (const key of sheetKeys) {
    await page.keyboard.press(key);
    await expect(page.getByRole('dialog')).toBeVisible();
    await sound(page, key);
    await page.keyboard.press('Escape');
    await expect(page.getByRole('dialog')).toHaveCount(0);
  }
});

test('files while they are asked about, read and confirmed pass axe in light and in dark', async ({ page }) => {
  await canHold(page);
  await giveFiles(page, [sampleFile('chest-minute.csv'), sampleFile('chest-minute-marks.csv')]);
  await sound(page, 'asked about');
  await whenSeen(page, 'progress', 'hold');
  await page.getByRole('button', { name: 'Read', exact: true }).click();
  await expect(page.getByRole('group', { name: 'Progress' })).toBeFocused();
  await expect(page.getByRole('progressbar').first()).toBeVisible();
  await sound(page, 'being read');
  await expect(page.getByRole('button', { name: 'Cancel reading' })).toBeVisible();
  await letGo(page);
  await expect(page.getByRole('heading', { name: 'What was read' })).toBeVisible();
  await sound(page, 'what was read');
});

test('the start page with a bundle half read, and with an import cut off, passes axe in light and in dark', async ({
  page,
}) => {
  await canHold(page);
  await page.goto('/');
  await whenSeen(page, 'progress', 'hold');
  const file = { name: 'five-minutes.zip', mimeType: 'application/zip', buffer: bundle };
  await page.getByTestId('file-input').setInputFiles(file);
  await expect(page.getByRole('progressbar')).toBeVisible();
  await expect(page.getByRole('button', { name: 'Cancel' })).toBeVisible();
  await sound(page, 'a bundle half read');
  await expect(page.getByRole('progressbar')).toBeVisible();
  await page.reload();
  await expect(page.getByTestId('interrupted-import')).toBeVisible();
  await sound(page, 'cut off');
});

test('focus goes through the review in reading order and can be seen', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const seen: string[] = [];
  for (let i = 0; i < 6; i++) {
    await page.keyboard.press('Tab');
    const focus = page.locator(':focus-visible');
    await expect(focus).toHaveCount(1);
    const outline = await focus.evaluate(e => Number.parseFloat(getComputedStyle(e).outlineWidth));
    expect(outline).toBeGreaterThanOrEqual(2);
    seen.push(((await focus.textContent()) ?? '').trim());
  }
  expect(seen.slice(0, 3)).toEqual(['Sessions', 'rater R1', 'Sign off']);
});

test('twice as large on a small screen nothing is cut off sideways and every part can be reached', async ({ page }) => {
  // 1024 x 768 at 200 % leaves 512 x 384 CSS pixels.
  await page.setViewportSize({ width: 512, height: 384 });
  for (const screen of ['#/', '#/practice', '#/study', '#/lab-store']) {
    await page.goto(`/${screen}`);
    await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
    expect.soft(await sideways(page), screen).toBeLessThanOrEqual(0);
  }
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  expect(await sideways(page)).toBeLessThanOrEqual(0);
  for (const part of ['.workspace-head', '.workspace-map', '.workspace-strip', '.workspace-side', '.workspace-keys']) {
    await page.locator(part).scrollIntoViewIfNeeded();
    await expect(page.locator(part)).toBeInViewport();
  }
  // The line of keys stays at the bottom of the window: at the end of the page it has its own place.
  await page.evaluate(() => scrollTo(0, document.documentElement.scrollHeight));
  const boxes = await page.locator('.workspace > *').evaluateAll(all =>
    all
      .map(e => e.getBoundingClientRect())
      .filter(b => b.height > 0)
      .map(b => [b.top, b.bottom] as const),
  );
  for (const [i, [top]] of boxes.entries()) if (i > 0) expect(top).toBeGreaterThanOrEqual(boxes[i - 1]![1] - 1);
});

test('a screen reader announces each step: the beat, and the intervals to both its neighbours', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const told = page.getByTestId('beat-description');
  await expect(told).toHaveAttribute('aria-live', 'polite');
  const { samplingRateHz } = session.recordings[0]!.recording;
  const detected = session.recordings[0]!.detected;
  const at = (k: number) => detected[k]! / samplingRateHz;
  const rrMs = (k: number) => Math.round((at(k + 1) - at(k)) * 1000);
  // A review opens at its first mark.
  for (const k of [1, 2, 3, 4]) {
    await page.keyboard.press('ArrowRight');
    await expect(told).toContainText(`Beat at ${at(k).toFixed(3)} s, not looked at yet`);
    await expect(told).toContainText(`interval after ${rrMs(k)} ms;`);
    await expect(told).toContainText(`interval before ${rrMs(k - 1)} ms;`);
  }
  // What was done to a neighbour is said as well.
  await page.keyboard.press('.');
  await page.keyboard.press('ArrowLeft');
  await expect(told).toContainText(/interval after \d+ ms, beat after centred, 4 ms later;/);
});

test('with reduced motion nothing moves by itself', async ({ page }) => {
  await page.emulateMedia({ reducedMotion: 'reduce' });
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await ready(page);
  expect(await page.evaluate(() => document.getAnimations().length)).toBe(0);
});

test.describe('on a tablet', () => {
  test.use({ hasTouch: true, viewport: { width: 1024, height: 768 } });

  test('a finger selects a mark, and dragging does not scroll the page away', async ({ page }) => {
    await openBundle(page, 'five-minutes.zip', bundle, session.title);
    const strip = page.locator('.strip-host');
    await expect(strip).toHaveCSS('touch-action', 'none');
    const told = page.getByTestId('beat-description');
    const before = await told.textContent();
    const box = (await strip.boundingBox())!;
    await page.touchscreen.tap(box.x + box.width * 0.7, box.y + box.height * 0.2);
    await expect(told).not.toHaveText(before!);
  });
});
