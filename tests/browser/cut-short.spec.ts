import { expect, type Page, type TestInfo, test } from '@playwright/test';
import { verifyChain } from '../../src/core/marks/log';
import { marksFrom } from '../../src/core/marks/markset';
import type { Session } from '../../src/core/review/session';
import { writeBundle } from '../../src/formats/bundle/writer';
import { fiveMinutes } from './five-minutes';
import { fact, fileRow, giveFiles, onDisk, readFiles, whenSeen, writeLongEdf } from './import-page';
import { given, goTo, keep, kept, openBundle, openBundleFile, ready, saved } from './page';

const { session, bundle } = fiveMinutes();

let large: { session: Session; bytes: Uint8Array } | undefined;

/** A bundle whose signal is 6 MB of noise, which no packing makes smaller, as a file. */
function largeBundle(info: TestInfo): { session: Session; path: string } {
  large ??= madeLarge();
  return { session: large.session, path: onDisk(info, 'large.zip', large.bytes) };
}

function madeLarge(): { session: Session; bytes: Uint8Array } {
  const item = session.recordings[0]!;
  let state = 1;
  const words = Int16Array.from({ length: 3_000_000 }, () => {
    state = Math.imul(state, 1_103_515_245) + 12_345;
    return state >> 16;
  });
  const sampleCount = words.length;
  const leads = [{ ...item.recording.leads[0]!, sampleCount }];
  const recording = { ...item.recording, sampleCount, leads };
  const noisy: Session = {
    ...session,
    id: 'large',
    title: 'A large one',
    recordings: [{ ...item, recording, detected: marksFrom([100, 400]) }],
  };
  return { session: noisy, bytes: writeBundle({ session: noisy, logs: [] }, () => words, { level: 0 }) };
}

/** Sessions whose signals lie in the private file system. */
function storedSignals(page: Page): Promise<string[]> {
  return page.evaluate(async () => {
    const names: string[] = [];
    const root = await (await navigator.storage.getDirectory()).getDirectoryHandle('signals', { create: true });
    for await (const entry of root.values()) names.push(entry.name);
    return names.sort();
  });
}

const slowTable = (info: TestInfo) => {
  const lines = Array.from({ length: 300_000 }, (_, i) => `${(i * 0.004).toFixed(3)},0.${100 + (i % 100)}\n`);
  return onDisk(info, 'slow.csv', `time_s,ecg_mV\n${lines.join('')}`);
};

test('a disk that fills up in the middle of an import leaves no half session, and those that were there untouched', async ({
  page,
  baseURL,
}, info) => {
  const control = await page.context().newCDPSession(page);
  const { origin } = new URL(baseURL!);
  await control.send('Storage.overrideQuotaForOrigin', { origin, quotaSize: 4_000_000 });
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 3);
  await saved(page);
  await page.getByRole('link', { name: 'Sessions' }).click();
  const { session: noisy, path: file } = largeBundle(info);
  const input = page.getByTestId('file-input');
  await input.setInputFiles(file);
  await expect(page.getByRole('alert').filter({ hasText: 'no room left for this page' })).toBeVisible();
  expect(await storedSignals(page)).toEqual([session.id]);
  await expect(page.getByRole('link', { name: noisy.title })).toHaveCount(0);

  const path = info.outputPath('hours.edf');
  await writeLongEdf(path, 2, 250, 3, false);
  await giveFiles(page, path);
  await page.getByRole('button', { name: 'Read', exact: true }).click();
  await expect(fileRow(page, 'hours.edf').getByRole('alert')).toContainText('no room left for this page');
  await page.keyboard.press('Escape');
  await expect(page.getByRole('dialog')).toHaveCount(0);
  await expect.poll(() => storedSignals(page)).toEqual([session.id]);
  await page.reload();
  await expect(page.getByTestId('interrupted-import')).toHaveCount(0);
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
  const { log } = await given(page);
  expect(log.entries.filter(e => e.intent === 'accept')).toHaveLength(3);

  // With room again the same file is taken in.
  await control.send('Storage.overrideQuotaForOrigin', { origin });
  await openBundleFile(page, file, noisy.title);
});

/** From the next page on, keeps hold of the workers whose address has `part` in it. */
async function holdWorkers(page: Page, part: string): Promise<void> {
  await page.addInitScript(part => {
    const begun: Worker[] = [];
    const Real = Worker;
    class Watched extends Real {
      constructor(url: string | URL, options?: WorkerOptions) {
        super(url, options);
        if (String(url).includes(part)) begun.push(this);
      }
    }
    Object.assign(window, { Worker: Watched, begun });
  }, part);
}

/** Ends the first of them from outside, of which the page is not told, once it is at work and `selector` is shown. */
function endWorker(page: Page, selector: string): Promise<void> {
  return page.evaluate(async selector => {
    const { begun } = window as unknown as { begun: Worker[] };
    for (;;) {
      const { pending = [] } = await navigator.locks.query();
      const watched = pending.some(l => l.name?.startsWith('beat-ledger-worker/'));
      if (watched && begun[0] && document.querySelector(selector)) return begun[0].terminate();
      await new Promise(done => setTimeout(done, 1));
    }
  }, selector);
}

test('a worker that ends in the middle of an import: said at once, and a second try works', async ({ page }, info) => {
  await holdWorkers(page, 'import');
  await giveFiles(page, slowTable(info));
  const ended = endWorker(page, 'progress[aria-label^="reading"]');
  await page.getByRole('button', { name: 'Read', exact: true }).click();
  await ended;
  await expect(fileRow(page, 'slow.csv').getByRole('alert')).toContainText('The background work was ended');
  await readFiles(page);
  await expect(fact(page, 'slow', 'length')).toContainText('20:00.0 at 250 Hz');
});

test('a worker that ends while it looks through the signal: said at once, and a second try works', async ({
  page,
}, info) => {
  await holdWorkers(page, 'analysis');
  const { session: noisy, path: file } = largeBundle(info);
  await openBundleFile(page, file, noisy.title);
  await endWorker(page, 'body');
  const told = page.getByText(/could not be analysed for suspicious places: The background work was ended/);
  await expect(told).toBeVisible();
  await keep(page, 1);
  await saved(page);
  await page.getByRole('button', { name: 'Try again' }).click();
  await expect(told).toHaveCount(0);
  await expect(page.getByTestId('queue').getByRole('listitem').first()).toBeVisible();
});

test('a bundle whose tab was closed on the way is reported on the next visit; what it left is taken away', async ({
  page,
}, info) => {
  const { session: noisy, path: file } = largeBundle(info);
  await page.goto('/');
  const loaded = page.waitForEvent('load');
  await whenSeen(page, 'progress[aria-label^="Reading the signals"]', 'reload');
  await page.getByTestId('file-input').setInputFiles(file);
  await loaded;
  const told = page.getByTestId('interrupted-import');
  await expect(told).toContainText(/The import of large\.zip was interrupted at \d+ %/);
  await expect(page.getByRole('link', { name: noisy.title })).toHaveCount(0);
  await page.getByRole('button', { name: 'Remove', exact: true }).click();
  await expect(told).toHaveCount(0);
  expect(
    await page.evaluate(async () => {
      const root = await (await navigator.storage.getDirectory()).getDirectoryHandle('signals', { create: true });
      const folder = await root.getDirectoryHandle('large', { create: true });
      let files = 0;
      for await (const _ of folder.values()) files++;
      return files;
    }),
  ).toBe(0);
  await page.getByTestId('file-input').setInputFiles(file);
  await expect(page.getByRole('link', { name: noisy.title })).toBeVisible();
});

test('a clock set back in a review and before the next one changes nothing but the times', async ({ page }) => {
  await page.clock.setSystemTime('2026-09-14T10:00:00Z');
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  const coverage = page.getByTestId('ledger-logger').locator('[data-cell="coverage"]').first();
  await keep(page, 3);
  await goTo(page, 60);
  await page.keyboard.press('Enter');
  await saved(page);
  const seen = async () => Number(/(\d+) % looked at/.exec((await coverage.textContent()) ?? '')?.[1]);
  const before = await seen();
  await page.clock.setSystemTime('2026-09-12T08:00:00Z');
  await keep(page, 3);
  await page.keyboard.press('z');
  await saved(page);
  await page.reload();
  await ready(page);
  expect(await seen()).toBeGreaterThanOrEqual(before);
  expect(await seen()).toBeLessThanOrEqual(before + 5);
  await page.clock.setSystemTime('2020-01-01T00:00:00Z');
  // A place where no mark has been judged yet.
  await goTo(page, 120);
  await keep(page, 2);
  await page.keyboard.press('z');
  await page.keyboard.press('z');
  await saved(page);
  const { log } = await given(page);
  expect(verifyChain(log)).toEqual({ ok: true });
  expect(log.entries.map(e => e.seq)).toEqual(log.entries.map((_, i) => i));
  const years = [...new Set(log.entries.filter(e => e.intent === 'accept').map(e => e.at.slice(0, 10)))];
  expect(years).toEqual(['2026-09-14', '2026-09-12', '2020-01-01']);
  // The last undos take back the last acts by the log's order, not by the clock.
  const undone = log.entries.filter(e => e.undoes !== undefined).map(e => log.entries[e.undoes!]!.at.slice(0, 4));
  expect(undone).toEqual(['2026', '2020', '2020']);
  await page.goto('/#/report/five-minutes');
  await expect(page.getByRole('heading', { level: 1 })).toContainText(session.title);
  await expect(page.getByRole('alert')).toHaveCount(0);
});

test('half of a bundle: said what is wrong, and the review in it that is whole is offered', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await keep(page, 7);
  const { bytes, log } = await given(page);
  const half = { name: 'half.zip', mimeType: '', buffer: bytes.subarray(0, bytes.length >> 1) };
  await page.getByRole('link', { name: 'Sessions' }).click();
  await page.getByRole('button', { name: 'Remove …' }).click();
  await page.getByRole('button', { name: 'Remove', exact: true }).click();
  await expect(page.getByRole('link', { name: session.title })).toHaveCount(0);
  const input = page.getByTestId('file-input');
  await input.setInputFiles({ name: 'five.zip', mimeType: '', buffer: bundle });
  await expect(page.getByRole('link', { name: session.title })).toBeVisible();
  await input.setInputFiles(half);
  await expect(page.getByText(/^half\.zip .*the file is cut off or not a zip/)).toContainText(
    `Intact: the review of R1 (${log.entries.length} entries)`,
  );
  await page.getByRole('button', { name: 'Import the intact reviews' }).click();
  await expect(page.getByText(/added the review of R1/)).toBeVisible();
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
  expect(await kept(page)).toBeGreaterThanOrEqual(log.entries.length);
});
