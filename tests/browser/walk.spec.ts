import { expect, type Page, test } from '@playwright/test';
import { marksFrom } from '../../src/core/marks/markset';
import { BeatOutcome, match } from '../../src/core/marks/match';
import { fiveMinutes } from './five-minutes';
import { cell, column, exported, openBundle, saved } from './page';

const { session, ecg, plant, bundle } = fiveMinutes();
const rateHz = 250;
const segment = 'seated radio watch';

/** Says what was done, or why the place gone to is worth a look and with what chance. */
const said = async (page: Page) => (await page.getByTestId('said').textContent()) ?? '';
const atPlace = (words: string) => /\((over |under )?\d+ %\)$/.test(words);

test('a whole session by keyboard: place after place and page after page, signed off and finished', async ({
  page,
}, info) => {
  test.slow();
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await expect(page.getByTestId('queue').getByRole('listitem')).not.toHaveCount(0);
  const pressed: string[] = [];
  const press = async (key: string) => {
    pressed.push(key);
    await page.keyboard.press(key);
  };
  const covered = async () => (await cell(page, 'logger', segment, 'coverage').textContent()) === '100 % looked at';
  await page.keyboard.press('Home');
  let pages = 0;
  for (let turn = 0; turn < 60 && !(await covered()); turn++) {
    await press('j');
    // Taking and setting aside go on to the next place of the page by themselves.
    for (let words = await said(page); atPlace(words); words = await said(page)) {
      const suggests = await page.getByRole('button', { name: 'take suggestion' }).isVisible();
      await press(suggests ? 't' : 'x');
      if (words === (await said(page))) break;
    }
    if (!atPlace(await said(page))) pages++;
  }
  await saved(page);
  info.annotations.push({ type: 'keys', description: pressed.join(' ') });
  await expect(cell(page, 'logger', segment, 'missed')).toHaveText('7');
  await expect(cell(page, 'logger', segment, 'wrong peak')).toHaveText('7');
  await expect(cell(page, 'logger', segment, 'extra')).toHaveText('6');
  const [marks] = await exported(page, 'Reviewed marks');
  const reviewed = marksFrom(column(marks!.bytes, 'sample').map(Number));
  const { outcome } = match(marksFrom(ecg.beats), reviewed, [], rateHz);
  expect([...outcome].filter(o => o !== BeatOutcome.onPeak)).toEqual([]);
  expect(reviewed.length).toBe(ecg.beats.length);
  // At most two keys for each page and mistake, with no place passed by.
  expect(pressed.length).toBeLessThanOrEqual(2 * (pages + plant.planted.length));
  // Offered where it is complete, wherever the last page turn has led.
  await expect(page.getByRole('button', { name: `sign off ${segment}` })).toBeVisible();
  await press('o');
  await expect(cell(page, 'logger', segment, 'coverage')).toHaveText('signed off');
  await press('Control+Enter');
  await press('Enter');
  await expect(page.getByTestId('saving')).toContainText('review finished');
});
