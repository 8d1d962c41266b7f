import { readFileSync } from 'node:fs';
import { expect, type Page, test } from '@playwright/test';
import { csvParse } from 'd3-dsv';
import { readBundle } from '../../src/formats/bundle/reader';
import { readStudy, writeStudy } from '../../src/formats/bundle/study';
import { bytesSource } from '../../src/formats/bytes/source';
import { chooseCode, exported, given, ready, saved } from './page';
import * as two from './two-raters';

/** Each way to see another's review before one's own is signed off: asked for, kept, and said of what is rated later. */

const { session, bundleOf, reviewOfR1, reviewOfR2 } = two;
const lessonAddress = `/#/practice/from/${session.id}/${session.recordings[0]!.recording.id}/R1`;

/** The page of somebody who rates under this code, with a session that R1 has finished. */
async function withFinished(page: Page, code: string, logs = [reviewOfR1()]): Promise<void> {
  await page.goto('/');
  await page.getByTestId('rater-code').fill(code);
  const mimeType = 'application/zip';
  await page.getByTestId('file-input').setInputFiles({ name: 'two.zip', mimeType, buffer: bundleOf(logs) });
  await expect(page.getByRole('link', { name: session.title })).toBeVisible();
}

async function openSession(page: Page): Promise<void> {
  await page.goto('/#/');
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
}

const asked = (page: Page) => page.getByTestId('unblind');
const goOn = (page: Page) => asked(page).getByRole('button', { name: 'Show the reviews' });

async function rateSomething(page: Page): Promise<void> {
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('k');
  await saved(page);
}

/** What the log starts with, and what the results table says of the review. */
async function expectNotBlind(page: Page, by: string): Promise<void> {
  const { log } = await given(page);
  expect(log.entries[0]).toMatchObject({ intent: 'unblind', fact: { kind: 'unblinded', by, raters: ['R1'] } });
  const [table] = await exported(page, 'Results table', 2);
  const rows = csvParse(table!.bytes.toString('utf8'));
  expect(rows.filter(r => r['rater'] === log.header.rater).map(r => r['blind'])).toContain('no');
}

test('a code is asked for once, wherever one is needed first, and remembered', async ({ browser }) => {
  for (const address of [
    `/#/review/${session.id}`,
    `/#/report/${session.id}`,
    lessonAddress,
    '/#/practice/mixed/2/a',
  ]) {
    const context = await browser.newContext();
    const page = await context.newPage();
    await withFinished(page, '');
    await expect(page.getByTestId(`raters-${session.id}`)).toHaveText('also by R1 Compare');
    await page.goto(address);
    await expect(page.getByTestId('own-code')).toBeFocused();
    await expect(page.getByRole('button', { name: 'Continue' })).toBeDisabled();
    await page.keyboard.type('??R7');
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('choose-code')).toHaveCount(0);
    await page.goto('/#/');
    await expect(page.getByTestId('rater-code')).toHaveValue('R7');
    await context.close();
  }
});

test('a code that was given stays after a reload', async ({ page }) => {
  await withFinished(page, '');
  await page.goto(`/#/review/${session.id}`);
  await chooseCode(page, 'R7');
  await ready(page);
  await page.reload();
  await openSession(page);
  await expect(page.locator('.workspace-head')).toContainText('rater R7');
});

test('a comparison asks for a code as well, and goes back without one', async ({ page }) => {
  await withFinished(page, '');
  await page.goto(`/#/compare/${session.id}`);
  await page.getByTestId('choose-code').getByRole('link', { name: 'Back to the sessions' }).click();
  await expect(page.getByTestId('rater-code')).toHaveValue('');
  await page.goto(`/#/compare/${session.id}`);
  await chooseCode(page, 'R2');
  await expect(page.getByTestId('closed')).toContainText('R2 has not reviewed this session');
});

test('a report asks whoever may still rate; declined it shows nothing, accepted it is the first entry of the review', async ({
  page,
}) => {
  await withFinished(page, 'R2');
  await page.goto(`/#/report/${session.id}`);
  await expect(asked(page)).toContainText('R2 has not signed off');
  await expect(page.getByText('F1')).toHaveCount(0);
  await asked(page).getByRole('link', { name: 'Go back' }).click();
  await openSession(page);
  await page.goto(`/#/report/${session.id}`);
  await goOn(page).click();
  await expect(page.getByRole('heading', { name: /Quality/ }).first()).toBeVisible({ timeout: 60_000 });
  await page.goto('/#/');
  await page.goto(`/#/report/${session.id}`);
  await expect(page.getByRole('heading', { name: /Quality/ }).first()).toBeVisible({ timeout: 60_000 });
  await expect(asked(page)).toHaveCount(0);
  await openSession(page);
  await rateSomething(page);
  await expectNotBlind(page, 'report');
});

test('a report over a review under way is an entry of that review; whoever finished is not asked', async ({ page }) => {
  await withFinished(page, 'R2');
  await openSession(page);
  await rateSomething(page);
  await page.goto(`/#/report/${session.id}`);
  await goOn(page).click();
  await expect(page.getByRole('heading', { name: /Quality/ }).first()).toBeVisible({ timeout: 60_000 });
  await openSession(page);
  await rateSomething(page);
  const { log } = await given(page);
  expect(log.entries.filter(e => e.fact?.kind === 'unblinded').map(e => e.intent)).toEqual(['unblind']);
  await page.goto('/#/');
  await page.getByTestId('rater-code').fill('R1');
  await page.goto(`/#/report/${session.id}`);
  await expect(page.getByRole('heading', { name: /Quality/ }).first()).toBeVisible({ timeout: 60_000 });
});

test('a study taken along asks whoever may still rate: without the reviews, or with them and recorded', async ({
  page,
}) => {
  const plan = { id: 'two', title: 'Two at the radio', sessions: [session.id], settings: session.settings };
  const study = { ...plan, namingPattern: '', segmentTemplate: [], protocol: '' };
  const buffer = Buffer.from(await writeStudy(study, () => bundleOf([reviewOfR1()])));
  await page.goto('/');
  await page.getByTestId('rater-code').fill('R2');
  await page.goto('/#/study');
  await page.getByTestId('study-file').setInputFiles({ name: 'two.zip', mimeType: 'application/zip', buffer });
  await expect(page.getByTestId('study-totals')).toContainText('1 reviewed');
  const take = page.getByRole('button', { name: 'Export the study as one bundle' });
  const here = page.getByTestId('unblind-export');
  const ratersOf = async (click: () => Promise<void>) => {
    const arriving = page.waitForEvent('download');
    await click();
    const bytes = readFileSync(await (await arriving).path());
    const { sessions } = await readStudy(bytesSource('two.zip', bytes));
    const { reviewed } = await readBundle(sessions[0]!.source);
    return reviewed.logs.map(log => log.header.rater);
  };
  await take.click();
  await expect(here).toContainText('R2 has not signed off');
  expect(await ratersOf(() => here.getByRole('button', { name: 'Export without these reviews' }).click())).toEqual([]);
  await take.click();
  expect(await ratersOf(() => here.getByRole('button', { name: 'Export with them' }).click())).toEqual(['R1']);
  expect(await ratersOf(() => take.click())).toEqual(['R1']);
  await openSession(page);
  await rateSomething(page);
  await expectNotBlind(page, 'export');
});

test('settling under another code does not open the others’ reviews to one who rates here', async ({ page }) => {
  await withFinished(page, 'R3', [reviewOfR1(), reviewOfR2()]);
  await page.goto(`/#/compare/${session.id}`);
  await page.getByTestId('supervisor-code').fill('S1');
  await page.getByTestId('supervisor-code').press('Enter');
  await expect(asked(page)).toContainText('R3 has not signed off');
  await expect(page.getByTestId('agreement-band')).toHaveCount(0);
  // Declined: R3 begins to rate, and the comparison stays closed from then on.
  await openSession(page);
  await rateSomething(page);
  await page.goto(`/#/compare/${session.id}`);
  await expect(asked(page)).toContainText('The review of R3 is not finished');
  await expect(goOn(page)).toBeDisabled();
  await expect(page.getByTestId('agreement-band')).toHaveCount(0);
});

test('a comparison that was opened first is the first entry of a later review', async ({ page }) => {
  await withFinished(page, 'R3', [reviewOfR1(), reviewOfR2()]);
  await page.goto(`/#/compare/${session.id}`);
  await page.getByTestId('supervisor-code').fill('S1');
  await page.getByTestId('supervisor-code').press('Enter');
  await goOn(page).click();
  await expect(page.getByTestId('agreement-band')).toBeVisible();
  await openSession(page);
  await rateSomething(page);
  const { log } = await given(page);
  expect(log.entries[0]!.fact).toEqual({ kind: 'unblinded', by: 'comparison', raters: ['R1', 'R2'] });
});

test('a lesson made from a review asks as a report does, and waits while the own review is under way', async ({
  page,
}) => {
  await withFinished(page, 'R2');
  await page.goto(lessonAddress);
  await expect(asked(page)).toContainText('This lesson shows reviews of sessions that R2 has not signed off');
  await openSession(page);
  await rateSomething(page);
  await page.goto(lessonAddress);
  await expect(goOn(page)).toBeDisabled();
  await page.reload();
  await expect(goOn(page)).toBeDisabled();
});

test('looking without rating leaves no log, and keeps nobody from settling', async ({ page }) => {
  await withFinished(page, 'S1', [reviewOfR1(), reviewOfR2()]);
  await openSession(page);
  const coverage = page.getByTestId('ledger-band').locator('[data-cell="coverage"]').first();
  await page.keyboard.press('PageDown');
  await page.keyboard.press('PageUp');
  await expect(coverage).toHaveText('not reviewed yet');
  await page.waitForFunction(() =>
    /saved, 0 entries/.test(document.querySelector('[data-testid="saving"]')?.textContent ?? ''),
  );
  await page.goto('/#/');
  await expect(page.getByTestId(`raters-${session.id}`)).toContainText('R1, R2');
  await expect(page.getByTestId(`raters-${session.id}`)).not.toContainText('S1');
  await page.goto(`/#/compare/${session.id}`);
  await page.getByTestId('supervisor-code').fill('S1');
  await page.getByTestId('supervisor-code').press('Enter');
  await goOn(page).click();
  await expect(page.getByTestId('agreement-band')).toBeVisible();
});

test('a review reopened after the others were shown is not blind', async ({ page }) => {
  await withFinished(page, 'R1', [reviewOfR1(), reviewOfR2()]);
  await openSession(page);
  await expect(page.getByRole('link', { name: /Compare/ })).toBeVisible();
  await page.keyboard.press('Shift+O');
  await page.getByRole('dialog').getByRole('textbox').fill('one beat more');
  await page
    .getByRole('dialog')
    .getByRole('button', { name: /Reopen|Open/ })
    .click();
  await saved(page);
  const { log } = await given(page);
  expect(log.entries.at(-1)).toMatchObject({ intent: 'restart', fact: { kind: 'unblinded', raters: ['R2'] } });
});

test('a review begun under a wrong code goes to the right one where the code is read, and every table says so', async ({
  page,
}) => {
  await withFinished(page, 'R1', []);
  await openSession(page);
  await rateSomething(page);
  await page.getByRole('button', { name: 'rater R1' }).click();
  const sheet = page.getByRole('dialog', { name: 'Review of R1' });
  await sheet.getByTestId('right-code').fill('R1');
  await sheet.getByTestId('right-code').press('Enter');
  await expect(sheet.getByRole('alert')).toHaveText('This review is under R1 already.');
  await sheet.getByTestId('right-code').fill('R7');
  await sheet.getByRole('button', { name: 'Reassign this review' }).click();
  await expect(page.getByText('the review is signed with R7 now')).toBeVisible();
  await expect(page.getByTestId('rater-code')).toHaveValue('R7');
  await expect(page.getByTestId(`raters-${session.id}`)).toHaveText(/^R7: \d+ entries$/);
  await openSession(page);
  await rateSomething(page);
  const { log } = await given(page);
  expect(log.header.rater).toBe('R7');
  expect(log.entries.map(e => e.fact).filter(f => f)).toEqual([{ kind: 'reassigned', from: 'R1', to: 'R7' }]);
  const [table] = await exported(page, 'Results table', 2);
  const rows = csvParse(table!.bytes.toString('utf8'));
  expect([...new Set(rows.map(r => `${r['rater']} from ${r['reassigned_from']}`))]).toEqual(['R7 from R1']);
  const [audit] = await exported(page, 'Audit trail');
  expect(audit!.bytes.toString('utf8')).toContain('review reassigned from R1 to R7');
  // R1, who has finished, stays R1.
  await withFinished(page, 'R1');
  await expect(page.getByTestId(`raters-${session.id}`)).toContainText('finished');
  await openSession(page);
  await page.getByRole('button', { name: 'rater R1' }).click();
  await expect(page.getByRole('dialog')).toContainText('was signed off by R1: it can no longer be reassigned');
});
