import { expect, type Page, test } from '@playwright/test';
import { fiveMinutes } from './five-minutes';
import { cell, column, exported, goTo, openBundle, pressInARow, ready, saved, times } from './page';
import * as twoRaters from './two-raters';

const { session, ecg, plant, bundle } = fiveMinutes();
const rateHz = 250;
const segment = 'seated radio watch';

/** Inserts a mark by key and, where noise moved the apex by a sample, nudges it on to the true beat. */
async function insertAt(page: Page, beat: number): Promise<void> {
  await page.keyboard.press('i');
  const words = await page.getByTestId('beat-description').textContent();
  const off = Math.round(Number(/Beat at ([\d.]+) s/.exec(words ?? '')?.[1]) * rateHz) - beat;
  expect(Math.abs(off)).toBeLessThanOrEqual(2);
  for (let i = 0; i < Math.abs(off); i++) await page.keyboard.press(off > 0 ? ',' : '.');
  await expect(page.getByTestId('beat-description')).toContainText((beat / rateHz).toFixed(3));
}

/** What is kept of R1's view of a session, as stored; runs in the page. */
async function keptView(id: string): Promise<{ caret: number; segmentOnly: boolean } | undefined> {
  const opening = indexedDB.open('beat-ledger');
  await new Promise(done => {
    opening.onsuccess = done;
  });
  const store = opening.result.transaction('records').objectStore('records');
  const kept = store.get(['view', id, 'R1']);
  await new Promise(done => {
    kept.onsuccess = done;
  });
  opening.result.close();
  return kept.result;
}

/** The preferences of this device, as stored; runs in the page. */
async function keptPreferences(): Promise<unknown[]> {
  const opening = indexedDB.open('keyval-store');
  await new Promise(done => {
    opening.onsuccess = done;
  });
  const all = opening.result.transaction('keyval').objectStore('keyval').getAll();
  await new Promise(done => {
    all.onsuccess = done;
  });
  opening.result.close();
  return all.result;
}

async function entryCount(page: Page): Promise<number> {
  await saved(page);
  return Number(/saved, (\d+)/.exec((await page.getByTestId('saving').textContent()) ?? '')?.[1]);
}

test('five minutes with 20 mistakes, reviewed by keyboard alone, end at the planted truth', async ({ page }) => {
  test.slow();
  expect(plant.planted).toHaveLength(20);
  expect(ecg.beats.length).toBeGreaterThan(370);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const press = (key: string) => page.keyboard.press(key);

  for (const p of plant.planted) {
    await goTo(page, (p.mark ?? p.beat!) / rateHz);
    if (p.kind === 'missed') await insertAt(page, p.beat!);
    else {
      // The caret may stand beside the mark by the rounding of the time typed: step on to it.
      await press('ArrowLeft');
      await press('ArrowRight');
      await expect(page.getByTestId('beat-description')).toContainText((p.mark! / rateHz).toFixed(3));
      await press('Delete');
      if (p.kind === 'wrongPeak') {
        await goTo(page, p.beat! / rateHz);
        await insertAt(page, p.beat!);
      }
    }
  }
  await press('Home');
  for (let page_ = 0; page_ < 60; page_++) {
    await press('Enter');
    if ((await cell(page, 'logger', segment, 'coverage').textContent()) === '100 % looked at') break;
  }
  await saved(page);

  await expect(cell(page, 'logger', segment, 'missed')).toHaveText('7');
  await expect(cell(page, 'logger', segment, 'wrong peak')).toHaveText('7');
  await expect(cell(page, 'logger', segment, 'extra')).toHaveText('6');
  const [marks] = await exported(page, 'Reviewed marks');
  expect(column(marks!.bytes, 'sample').map(Number)).toEqual([...ecg.beats]);

  await press('o');
  await expect(cell(page, 'logger', segment, 'coverage')).toHaveText('signed off');
  await press('Control+Enter');
  await press('Enter');
  await expect(page.getByTestId('saving')).toContainText('review finished');
});

test('a reload in the middle comes back to the same place with the same marks', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await goTo(page, 120);
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('Delete');
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('.');
  await saved(page);
  const before = await page.getByTestId('beat-description').textContent();
  const entries = await entryCount(page);
  const caret = Math.round(Number(/Beat at ([\d.]+) s/.exec(before ?? '')?.[1]) * rateHz);
  // The place is kept a moment after the last movement.
  await expect.poll(async () => (await page.evaluate(keptView, session.id))?.caret).toBe(caret);
  await page.reload();
  await ready(page);
  // Looking is logged too, so there may be more by now, but never fewer.
  expect(await entryCount(page)).toBeGreaterThanOrEqual(entries);
  await expect(page.getByTestId('beat-description')).toHaveText(before!);
  await page.keyboard.press('z');
  await page.keyboard.press('z');
  await saved(page);
  const [marks] = await exported(page, 'Reviewed marks');
  expect(column(marks!.bytes, 'sample').map(Number)).toEqual([...plant.detected]);
});

test('of two tabs one writes, and the other says so', async ({ context, page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const second = await context.newPage();
  await second.goto(page.url());
  await expect(second.getByText('read-only: this review is open for writing in another tab')).toBeVisible();
  await second.keyboard.press('ArrowRight');
  await second.keyboard.press('k');
  await expect(second.getByTestId('said')).toContainText('open for writing in another tab');
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('k');
  await saved(page);
  await page.close();
  await expect(second.getByText('The other tab closed this review')).toBeVisible();
});

test('what cannot be written is said before anything is typed: signed off, not signed off, open in another tab', async ({
  context,
  page,
}) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const sheet = page.getByRole('dialog');
  await page.keyboard.press('Shift+o');
  await expect(sheet).toContainText(`${segment} is not signed off: it is open.`);
  await expect(sheet.getByRole('textbox')).toHaveCount(0);
  await page.keyboard.press('Escape');
  await page.keyboard.press('o');
  await sheet.getByRole('textbox', { name: 'reason' }).fill('The strap had come off.');
  await page.keyboard.press('Control+Enter');
  await expect(sheet).toHaveCount(0);
  await expect(cell(page, 'logger', segment, 'coverage')).toHaveText(/^signed off, (under 1|\d+) % looked at$/);
  for (const key of ['c', 'f']) {
    await page.keyboard.press(key);
    await expect(sheet).toContainText(`${segment} is signed off: reopen it to change anything there.`);
    await expect(sheet.getByRole('textbox')).toHaveCount(0);
    await page.keyboard.press('Escape');
  }
  await page.keyboard.press('u');
  await expect(page.getByTestId('said')).toHaveText(`${segment} is signed off: reopen it to change anything there.`);
  const second = await context.newPage();
  await second.goto(page.url());
  await expect(second.getByText('read-only: this review is open for writing in another tab')).toBeVisible();
  for (const key of ['c', 'o', 'Shift+o', 'Control+Enter', 'q']) {
    await second.keyboard.press(key);
    await expect(second.getByRole('dialog')).toContainText('Nothing can be changed now: this review is open');
    await second.keyboard.press('Escape');
  }
});

test('a comment without words stays to be written', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await page.keyboard.press('c');
  await page.getByRole('textbox', { name: 'comment' }).fill(' ');
  await page.keyboard.press('Control+Enter');
  await expect(page.getByRole('dialog').getByRole('alert')).toHaveText('A comment needs some words.');
  await page.getByRole('textbox', { name: 'comment' }).fill('Strap was loose.');
  await page.keyboard.press('Control+Enter');
  await expect(page.getByTestId('beat-description')).toContainText('comment: Strap was loose.');
});

test('a tab stays with its rater, and takes back nothing that another tab has set', async ({ context, page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const second = await context.newPage();
  await second.goto('/');
  await expect(second.getByTestId('rater-code')).toHaveValue('R1');
  await second.getByTestId('rater-code').fill('R2');
  await page.keyboard.press('Shift+s');
  await page.getByLabel('large text').check();
  await page.keyboard.press('Escape');
  await page.reload();
  await ready(page);
  await expect(page.locator('.workspace-head')).toContainText('rater R1');
  await second.reload();
  await expect(second.getByTestId('rater-code')).toHaveValue('R2');
  const third = await context.newPage();
  await third.goto('/');
  await expect(third.getByTestId('rater-code')).toHaveValue('R2');
});

test('of two tabs that give commands other keys, neither takes back what the other did', async ({ context, page }) => {
  await page.goto('/');
  const second = await context.newPage();
  await second.goto('/');
  const give = async (tab: Page, title: RegExp, key: string) => {
    await tab.keyboard.press('?');
    await tab.getByRole('button', { name: title }).click();
    await tab.keyboard.press(key);
    await expect(tab.getByRole('button', { name: title })).toHaveText(key.toUpperCase());
    await tab.keyboard.press('Escape');
  };
  await give(page, /^Key for go to a time/, 'F7');
  await give(second, /^Key for comment on this place/, 'F8');
  await expect
    .poll(async () => JSON.stringify(await second.evaluate(keptPreferences)))
    .toMatch(/"keys":\{"time.go":\["F7"\],"remark.comment":\["F8"\]\}/);
});

test('undo and redo go on without end and show where they act', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await pressInARow(page, [...times(30, 'ArrowRight', '.'), ...times(30, 'z')]);
  await page.keyboard.press('z');
  await expect(page.getByTestId('said')).toHaveText('Nothing to undo.');
  for (let i = 0; i < 30; i++) await page.keyboard.press('Shift+Z');
  await saved(page);
  const [marks] = await exported(page, 'Reviewed marks');
  const moved = column(marks!.bytes, 'verdict').filter(v => v === 'refined');
  expect(moved).toHaveLength(30);
});

test('a comment is kept with Control and Enter, on several lines; what was not looked at is no bold result', async ({
  page,
}) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const quality = page.locator('[data-cell="quality"]').first();
  const coverage = page.locator('[data-cell="coverage"]').first();
  await expect(coverage).toHaveText('not reviewed yet');
  await expect(quality).toHaveText('–');
  await expect(page.locator('[data-cell="missed"]').first()).toHaveText('–');
  await page.keyboard.press('Shift+Enter');
  await expect(coverage).toHaveText(/^so far, \d+ % looked at$/);
  await expect(quality).toHaveText(/^\d+\.\d %/);
  await expect(quality.locator('strong')).toHaveCount(0);
  const interval = await quality.getByTitle('95 % interval, in percent').textContent();
  await page.getByTestId('details-logger').locator('summary').click();
  await expect(page.getByRole('row', { name: /^right intervals, 95 % interval/ })).toContainText(`${interval} %`);
  await page.keyboard.press('c');
  await page.getByRole('textbox', { name: 'comment' }).fill('Strap was loose.');
  await page.keyboard.press('Enter');
  await page.keyboard.type('Tightened after.');
  await page.keyboard.press('Control+Enter');
  await expect(page.getByRole('dialog')).toHaveCount(0);
  await expect(page.getByTestId('beat-description')).toContainText('comment: Strap was loose.\nTightened after.');
});

test('a second click or Enter where a segment is signed off or the review finished does nothing more', async ({
  page,
}) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const dialog = page.getByRole('dialog');
  const said = page.getByTestId('said');
  await page.keyboard.press('o');
  await dialog.getByLabel('reason').fill('known to be still');
  await dialog.getByRole('button', { name: 'Sign off' }).dblclick();
  await expect(cell(page, 'logger', segment, 'coverage')).toContainText('signed off');
  await expect(said).toHaveText(`${segment} signed off.`);
  const entries = await entryCount(page);
  await page.keyboard.press('Control+Enter');
  await expect(dialog.getByRole('button', { name: 'Finish' })).toBeFocused();
  for (const key of times(2, 'Enter')) await page.keyboard.press(key);
  await expect(page.getByTestId('saving')).toContainText('review finished');
  await expect(said).toHaveText('The review is finished.');
  await page.keyboard.press('Shift+o');
  await dialog.getByLabel(/reason/).fill('one more look');
  for (const key of times(2, 'Control+Enter')) await page.keyboard.press(key);
  await expect(said).toHaveText('The review is open again.');
  await expect(dialog).toHaveCount(0);
  expect(await entryCount(page)).toBe(entries + 2);
});

test('the queue keeps to one segment when asked, by key and button, also after a reload', async ({ page }) => {
  const { session, bundleOf, segmentNames } = twoRaters;
  await openBundle(page, 'two.zip', bundleOf([]), session.title);
  const queue = page.getByTestId('queue');
  const heading = queue.getByRole('heading');
  await expect(queue.getByRole('listitem')).not.toHaveCount(0);
  const whole = await heading.textContent();
  await page.keyboard.press('a');
  await expect(page.getByTestId('said')).toHaveText(/^\d suspicious places? in seated radio watch\.$/);
  await expect(heading).toHaveText(/ in seated radio watch$/);
  await expect(page.getByTestId('mistakes-left')).toHaveText(
    /^About \d+ mistakes? left in seated radio watch \(\d+ to \d+\)/,
  );
  await expect(queue.getByRole('listitem')).not.toHaveCount(0);
  // The two planted mistakes lie in the first segment.
  await page.keyboard.press('PageDown');
  await expect(heading).toHaveText(`Suspicious places 0 in ${segmentNames[1]}`);
  await page.keyboard.press('n');
  await expect(page.getByTestId('said')).toContainText(`No suspicious place is left in ${segmentNames[1]}.`);
  await expect.poll(() => page.evaluate(keptView, session.id)).toMatchObject({ segmentOnly: true, caret: 60 * 250 });
  await page.reload();
  await ready(page);
  await expect(heading).toHaveText(`Suspicious places 0 in ${segmentNames[1]}`);
  await queue.getByRole('button', { name: 'All segments' }).click();
  await expect(heading).toHaveText(whole!);
  await page.keyboard.press('?');
  await expect(page.getByRole('dialog')).toContainText('suspicious places of this segment only, or of all');
});

test('the first ten beats go on after a reload where they were left, to the end', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const guide = page.getByTestId('guide');
  const step = (n: number) => expect(guide.getByRole('heading')).toHaveText(`First ten beats ${n} of 10`);
  const press = async (...keys: string[]) => {
    for (const key of keys) await page.keyboard.press(key);
  };
  await step(1);
  await press('ArrowRight', 'ArrowRight');
  await step(2);
  await press('k');
  await step(3);
  await saved(page);
  await page.reload();
  await ready(page);
  await step(3);
  await press('.');
  await step(4);
  await press('z');
  await step(5);
  await press('Delete');
  await step(6);
  await saved(page);
  await page.reload();
  await ready(page);
  await step(6);
  await press('i');
  await step(7);
  await press('u', 'ArrowRight', 'u');
  await step(8);
  await press('z');
  await step(9);
  await expect(page.getByTestId('queue').getByRole('listitem')).not.toHaveCount(0);
  await press('j');
  await step(10);
  await press('Enter');
  await page.getByRole('button', { name: 'Close this' }).click();
  await expect.poll(() => page.evaluate(keptPreferences)).toMatchObject([{ guided: true }]);
  await page.reload();
  await ready(page);
  await expect(page.getByRole('region', { name: 'First ten beats' })).toHaveCount(0);
});
