import { expect, type Page, test } from '@playwright/test';
import { sessionScores } from '../../src/core/report/session-scores';
import { readBundle } from '../../src/formats/bundle/reader';
import { bytesSource } from '../../src/formats/bytes/source';
import { exported, goTo, openBundle, saved } from './page';
import { rateHz, twoHours } from './two-hours';

// Room for several stretches on a page.
test.use({ viewport: { width: 1440, height: 900 } });

const { session, ecg, plant, bundle, quality } = twoHours();

/** Start and end in seconds of each stretch on the page, each in a row of its own. */
async function shownStretches(page: Page): Promise<(readonly [number, number])[]> {
  const words = (await page.getByTestId('sample-stretch').textContent())!;
  const times = [...words.matchAll(/(?:(\d+):)?(\d+):(\d+\.\d)/g)].map(
    ([, h, m, s]) => 3600 * Number(h ?? 0) + 60 * Number(m) + Number(s),
  );
  return Array.from({ length: times.length / 2 }, (_, i) => [times[2 * i]!, times[2 * i + 1]!] as const);
}

/** Corrects what was planted between two times, as the eye would find it there. */
async function correct(page: Page, start: number, end: number, done: Set<number>): Promise<void> {
  const here = plant.planted.filter(p => {
    const at = (p.beat ?? p.mark!) / rateHz;
    return at >= start && at < end && !done.has(p.beat ?? p.mark!);
  });
  for (const p of here) {
    done.add(p.beat ?? p.mark!);
    await goTo(page, (p.mark ?? p.beat!) / rateHz);
    if (p.kind === 'missed') await page.keyboard.press('i');
    else {
      // The caret may stand beside the mark by the rounding of the time typed: step on to it.
      await page.keyboard.press('ArrowLeft');
      await page.keyboard.press('ArrowRight');
      await page.keyboard.press('Delete');
    }
  }
}

test('a sample of two hours, reviewed by keyboard to one point on either side, holds the planted truth', async ({
  page,
}) => {
  test.slow();
  test.setTimeout(600_000);
  expect(ecg.beats.length).toBeGreaterThan(6500);
  // The seed that nobody chose is always this one: one sample in a hundred or so misses the truth, and must.
  await page.addInitScript(() => {
    const drawn = crypto.getRandomValues.bind(crypto);
    crypto.getRandomValues = <T extends ArrayBufferView | null>(into: T): T => {
      if (!(into instanceof Uint32Array) || into.length !== 1) return drawn(into as never) as T;
      into[0] = 4814;
      return into;
    };
  });
  await openBundle(page, 'two-hours.zip', bundle, session.title);
  await expect(page.getByTestId('queue')).toBeVisible();
  await page.keyboard.press('q');
  const sheet = page.getByRole('dialog', { name: 'Review a sample' });
  await sheet.getByLabel('interval, on either side').selectOption('1 percentage point');
  // Two hours are looked through first, which takes a busy machine a while.
  const expected = page.getByTestId('sample-expected');
  await expect(expected).toHaveText(/^About \d+ of 1440 stretches, \d+ min/, { timeout: 180_000 });
  await sheet.getByRole('button', { name: 'Start' }).press('Enter');
  await expect(sheet).toHaveCount(0);

  const done = new Set<number>();
  const state = page.getByTestId('sample-state');
  const starts: number[] = [];
  expect((await shownStretches(page)).length).toBeGreaterThan(2);
  while (starts.length < 700 && !(await state.textContent())!.includes('you can stop here')) {
    const stretches = await shownStretches(page);
    starts.push(...stretches.map(([start]) => start));
    // The interval that begins in a stretch may end in the context after it, which its row shows as well.
    for (const [start, end] of stretches) await correct(page, start, end + 2, done);
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('sample')).toContainText(`sampled, ${starts.length} of 1440 stretches`);
  }
  await expect(state).toContainText('you can stop here');
  expect(new Set(starts).size).toBe(starts.length);
  expect([...starts].sort((a, b) => a - b)).not.toEqual(starts);
  const words = (await page.getByTestId('sample-quality').textContent())!;
  const [, value, low, high] = /([\d.]+) % \(95 % interval ([\d.]+) to ([\d.]+) %\)/
    .exec(words)!
    .map(Number) as number[];
  expect(high! - low!).toBeLessThanOrEqual(2);
  expect(low!).toBeLessThanOrEqual(quality);
  expect(high!).toBeGreaterThanOrEqual(quality);
  // The ledger says what its number is.
  const ledger = page.getByTestId('ledger-logger');
  await expect(ledger.locator('[data-cell="coverage"]')).toHaveText(`sampled, ${starts.length} of 1440 stretches`);
  const inLedger = Number.parseFloat((await ledger.locator('[data-cell="quality"]').textContent())!);
  // One decimal there, two in the panel.
  expect(Math.abs(inLedger - value!)).toBeLessThanOrEqual(0.0551);
  // The seed, from which the order follows, is not on the page.
  await expect(page.locator('body')).not.toContainText('seed');
  await saved(page);
  await page.screenshot({ path: test.info().outputPath('sampled.png') });

  // The file that leaves the page gives the same number to anyone.
  const [file] = await exported(page, 'Session bundle');
  const { reviewed } = await readBundle(bytesSource(file!.name, new Uint8Array(file!.bytes)));
  const { whole } = sessionScores(reviewed)[0]!.sampled[0]!;
  expect(whole.quality.value!.toFixed(2)).toBe(value!.toFixed(2));
  expect(whole.interval95!.map(v => v.toFixed(2))).toEqual([low!.toFixed(2), high!.toFixed(2)]);
  expect(whole.drawn).toBe(starts.length);
});
