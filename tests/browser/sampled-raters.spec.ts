import { expect, type Page, test } from '@playwright/test';
import type { Change } from '../../src/core/marks/edit';
import { append, type EditLog, type Intent, newLog, replay } from '../../src/core/marks/log';
import type { SamplePlan } from '../../src/core/marks/sampling';
import { sessionScores } from '../../src/core/report/session-scores';
import { type Built, deleteMark, isRefusal, signOff } from '../../src/core/review/edits';
import { withSharedSamples } from '../../src/core/review/raters/shared-samples';
import { detectedOf, logHeader } from '../../src/core/review/session';
import { drawsOf, layOutPlan, planReview, takeStretches } from '../../src/core/review/standing/sampled';
import { sampledQualityWords } from '../../src/core/review/standing/sampled-words';
import { planSample } from '../../src/core/sample/plan';
import { writeBundle } from '../../src/formats/bundle/writer';
import { sound } from './axe';
import { openBundle, ready, saved } from './page';
import { nightWatch, rateHz } from './two-hours';

// A sample by two raters: the sheet of the second one, the comparison, and the report of a sampled review.
test.use({ viewport: { width: 1440, height: 900 } });

const { session, ecg, plant } = nightWatch(600);
const [item] = session.recordings;
const drawn = 24;
const watch = 'night watch';

const plan: SamplePlan = planSample({
  segment: watch,
  seed: 77,
  stretchSeconds: 5,
  contextSeconds: 2,
  halfWidth: 0.02,
  segments: item!.segments,
  samplingRateHz: rateHz,
  detected: item!.detected,
  second: null,
  suspected: [],
});
const laidOut = layOutPlan(item!, plan)!;

/** A finished review of the sample; `corrects`: extra marks in its stretches are removed. */
function reviewOf(rater: string, corrects: boolean): EditLog {
  let log = newLog(logHeader(session, rater));
  const at = '2026-09-13T08:00:00.000Z';
  const editing = () => {
    const { recordings, finished } = replay(log, detectedOf(session));
    return { item: item!, review: recordings.get('logger')!, finished };
  };
  const write = (intent: Intent, built: Built) => {
    if (built === null || isRefusal(built)) throw new Error(built?.refused ?? 'nothing to write');
    log = append(log, { at, recording: 'logger', intent, change: built as Change }).log;
  };
  write('sample', planReview(editing(), plan));
  const { next } = drawsOf(item!, editing().review, laidOut, drawn);
  const inside = (mark: number) =>
    next.some(i => laidOut.stretches[i]!.start <= mark && mark < laidOut.stretches[i]!.end);
  for (const { kind, mark } of plant.planted) {
    if (corrects && kind === 'extra' && mark !== null && inside(mark)) write('delete', deleteMark(editing(), mark));
  }
  write('accept', takeStretches(editing(), laidOut, next, 'reviewed'));
  write('sign off', signOff(editing(), watch, at, 'a sample was agreed on'));
  return append(log, { at, recording: '', intent: 'finish', change: [] }).log;
}

const r1 = reviewOf('R1', true);
const bundleOf = (logs: readonly EditLog[], shared = session) =>
  Buffer.from(writeBundle({ session: shared, logs: [...logs] }, () => ecg.leads[0]!));

async function shownStarts(page: Page): Promise<number[]> {
  const words = (await page.getByTestId('sample-stretch').textContent())!;
  return [...words.matchAll(/(\d+):(\d+\.\d) to/g)].map(([, m, s]) =>
    Math.round((60 * Number(m) + Number(s)) * rateHz),
  );
}

test('a second rater, blind, finds in the sheet the sample of the first, and as many stretches', async ({ page }) => {
  await page.goto('/');
  await page.getByTestId('rater-code').fill('R2');
  await openBundle(page, 'blind.zip', bundleOf([], withSharedSamples(session, r1)), session.title);
  await page.keyboard.press('q');
  const sheet = page.getByRole('dialog', { name: 'Review a sample' });
  await expect(sheet.locator('select').first()).toHaveValue(watch);
  await expect(sheet.getByTestId('sample-shared')).toHaveText(
    `A sample of this was planned for all raters: you review the same stretches in the same order, ${drawn} of them.`,
  );
  await expect(sheet.getByTestId('sample-expected')).toHaveText(
    `About ${drawn} of 120 stretches, 2 min at 5 s a stretch.`,
  );
  await sound(page, 'the sheet of a shared sample');
  await sheet.getByRole('button', { name: 'Start' }).press('Enter');
  const state = page.getByTestId('sample-state');
  await expect(state).toHaveText(`${drawn} more of the ${drawn} stretches drawn for every rater.`);
  const starts: number[] = [];
  let reloaded = false;
  while (starts.length < drawn) {
    starts.push(...(await shownStarts(page)));
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('sample')).toContainText(`sampled, ${starts.length} of 120 stretches`);
    if (reloaded) continue;
    // Comes back to the order of time, where Enter accepts what was not drawn: the way back to the sample is named first.
    reloaded = true;
    await saved(page);
    await page.reload();
    await ready(page);
    await expect(page.getByTestId('sample-stretch')).toHaveCount(0);
    const keys = page.getByRole('group', { name: 'What the keys do now' }).getByRole('button');
    await expect(keys.first()).toHaveText('Q go on with the sample');
    await page.keyboard.press('q');
    await expect(page.getByTestId('sample-stretch')).toBeVisible();
    await expect(keys.first()).not.toHaveText(/^Q/);
  }
  await expect(state).toContainText(`All ${drawn} stretches drawn for every rater are reviewed: you can stop here`);
  const own = [...laidOut.order.subarray(0, drawn)].map(i => laidOut.stretches[i]!.start as number);
  expect(starts.sort((a, b) => a - b)).toEqual(own.sort((a, b) => a - b));
  await saved(page);
  await sound(page, 'a shared sample reviewed');
});

test('two sampled reviews are compared over what both looked at, each with its interval', async ({ page }) => {
  const r2 = reviewOf('R2', false);
  await openBundle(page, 'both.zip', bundleOf([r1, r2]), session.title);
  await page.getByRole('link', { name: 'Compare with other reviews' }).click();
  const row = page.getByTestId('agreement-logger').locator(`tr[data-segment="${watch}"]`);
  const numbers = sessionScores({ session, logs: [r1, r2] }).map(s => s.sampled[0]!.whole);
  for (const [i, side] of ['A', 'B'].entries()) {
    await expect(row.locator(`[data-cell="quality ${side}"]`)).toHaveText(
      `${sampledQualityWords(numbers[i]!)}, sampled, ${drawn} of 120 stretches`,
    );
  }
  await expect(row.locator('[data-cell="over"]')).toHaveText(`over the ${5 * drawn} s that both have looked at`);
  await page.screenshot({ path: test.info().outputPath('compared.png') });
});

test('the report has the sample in a table and a paragraph of its own, with its interval', async ({ page }) => {
  await openBundle(page, 'one.zip', bundleOf([r1]), session.title);
  await page.goto(`/#/report/${session.id}`);
  const report = page.getByTestId('report');
  const table = report.locator('table', { hasText: 'Quality where reviews are samples' });
  await expect(table).toBeVisible({ timeout: 60_000 });
  const { whole } = sessionScores({ session, logs: [r1] })[0]!.sampled[0]!;
  const line = table.locator('tr', { hasText: 'V98' });
  await expect(line).toContainText(`sampled, ${drawn} of 120 stretches`);
  await expect(line).toContainText(whole.quality.value!.toFixed(2));
  for (const end of whole.interval95!) await expect(line).toContainText(end.toFixed(2));
  const text = report.getByText(`seed ${whole.seed}, quality ${sampledQualityWords(whole)}`);
  await expect(text).toContainText('Heart rate, HRV and agreement of recorders need continuous time');
  // No table without a row stands there to say that a sample is not in it.
  for (const words of ['they are in the next table', 'heart rate and HRV need continuous time'])
    await expect(report.getByText(`left out: ${words}`)).toHaveCount(0);
  await expect(report).toContainText('V98: reviewed as a sample: quality alone, in a table of its own');
  await line.scrollIntoViewIfNeeded();
  await page.screenshot({ path: test.info().outputPath('sampled-report.png') });
});
