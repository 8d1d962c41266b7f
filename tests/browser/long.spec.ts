import { expect, test } from '@playwright/test';
import { peakPageMb } from '../bench/browser';
import { sound } from './axe';
import { canHold, fact, fileRow, giveFiles, keepAndOpen, letGo, whenSeen, writeLongEdf } from './import-page';
import { chooseCode, column, exported, goTo, ready, saved } from './page';

/** The full size is 1000 Hz and three leads: LONG_RATE=1000 LONG_LEADS=3. */
const rateHz = Number(process.env['LONG_RATE'] ?? 250);
const leadCount = Number(process.env['LONG_LEADS'] ?? 1);
/** The whole page, workers included, from the choice of the file to the last export. */
const memoryLimitMb = 600;

test('a day opens before it is read in full, and an edit in its last hour is found after a reload', async ({
  page,
  browser,
}, info) => {
  test.setTimeout(600_000);
  const path = info.outputPath('day.edf');
  const beats = await writeLongEdf(path, 24, rateHz, leadCount, true);
  expect(beats.length).toBeGreaterThan(100_000);
  await canHold(page);
  await giveFiles(page, path);
  await expect(fileRow(page, 'day.edf')).toContainText(`at ${rateHz} Hz`);
  await whenSeen(page, 'progress', 'hold');
  await page.getByRole('button', { name: 'Read', exact: true }).click();

  await chooseCode(page, 'R1');

  // A strip is on the screen, and can be turned, before the file has been read.
  await expect(page.getByText(/still being read: \d+ %/)).toBeVisible();
  await page.keyboard.press('Space');
  await page.keyboard.press('i');
  await expect(page.getByTestId('said')).toContainText('still being read');
  await expect(page.getByRole('progressbar')).toBeVisible();
  await sound(page, 'a strip that is still being read');
  await expect(page.getByText(/^read-only: still being read/)).toBeVisible();
  await letGo(page);
  await expect(page.getByRole('heading', { name: 'What was read' })).toBeVisible({ timeout: 300_000 });
  await expect(fact(page, 'simulated recorder', 'length')).toContainText('24:00:00');
  await expect(fact(page, 'simulated recorder', 'marks')).toContainText(`${beats.length} by`);
  await keepAndOpen(page);
  await ready(page);

  for (let i = 0; i < 10; i++) await page.keyboard.press('Space');
  const late = beats.findIndex(b => b / rateHz > 23 * 3600);
  await goTo(page, beats[late]! / rateHz);
  await page.keyboard.press('ArrowLeft');
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('Delete');
  await saved(page);
  await page.reload();
  await ready(page);
  await saved(page);
  const [marks] = await exported(page, 'Reviewed marks');
  const samples = column(marks!.bytes, 'sample').map(Number);
  expect(samples).toHaveLength(beats.length - 1);
  expect(samples.slice(late - 2, late + 2)).toEqual([
    ...beats.subarray(late - 2, late),
    ...beats.subarray(late + 1, late + 3),
  ]);
  const memory = await peakPageMb(browser);
  info.annotations.push({ type: 'peak memory of the page', description: `${memory?.toFixed(0)} MB` });
  if (process.env['LONG_RATE']) console.log(`peak memory of the page: ${memory?.toFixed(0)} MB`);
  expect(memory ?? 0).toBeLessThan(memoryLimitMb);
});
