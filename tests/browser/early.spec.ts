import { closeSync, mkdtempSync, openSync, readSync, rmSync, statSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type CDPSession, expect, type Page, test } from '@playwright/test';
import { marksFrom } from '../../src/core/marks/markset';
import { defaultMatchSettings } from '../../src/core/marks/match';
import type { Session } from '../../src/core/review/session';
import { span } from '../../src/core/units';
import { bundleBlocks } from '../../src/formats/bundle/writer';
import type { ByteSource } from '../../src/formats/bytes/source';
import { sendSession } from '../../src/remote/session-parts';
import { assign, makeStudyFolders } from '../../src/remote/study';
import installServers from '../remote/install';
import { apache, startServer, type TestServer } from '../remote/server';
import { ready, saved } from './page';

/**
 * A long recording in a lab's store on a real Apache, over a line of 20 Mbit/s: opened by ranges, then kept whole. Three
 * leads at 1000 Hz: STORE_MB=500 npm run browser -- early does it with one of a day, in CI it is one of half an hour.
 */
const megabytes = Number(process.env['STORE_MB'] ?? 10);
const rateHz = 1000;
const leadNames = ['I', 'II', 'V5'];
const count = Math.floor((megabytes * 2 ** 20) / (2 * leadNames.length));
/** Between two beats: 75 a minute. */
const apart = 800;
const id = 'V07-long-climb';
const study = 'trial-1';
const lineBytesPerSecond = 20e6 / 8;

test.describe.configure({ mode: 'serial' });
test.setTimeout(megabytes > 100 ? 1_500_000 : 90_000);

let server: TestServer;
let folder: string;

test.beforeAll(async () => {
  test.setTimeout(300_000);
  installServers();
  server = await startServer(apache, undefined, join(import.meta.dirname, '../../dist'));
  folder = mkdtempSync(join(tmpdir(), 'beat-ledger-long-'));
  const boss = server.store('boss');
  await makeStudyFolders(boss, ['R1', 'R2', 'R3']);
  const bundle = await bundleOnDisk(join(folder, 'long.zip'));
  const manifest = await sendSession(boss, { id, title: 'Long climb' }, bundle);
  const common = { session: id, manifest, due: null, assignedAt: '2026-02-14T10:00:00Z' };
  for (const code of ['R1', 'R2', 'R3'])
    await assign(boss, code, { ...common, place: code === 'R1' ? 'first' : 'second' });
});
test.afterAll(async () => {
  await server.remove();
  rmSync(folder, { recursive: true, force: true });
});

function longSession(): Session {
  const lead = { samplingRateHz: rateHz, sampleCount: count, format: 'int16', mvPerUnit: 0.005, offset: 0 } as const;
  const recording = {
    id: 'chest-band',
    recorder: 'chest band',
    samplingRateHz: rateHz,
    sampleCount: count,
    startedAt: '2026-02-14T08:00:00',
    leads: leadNames.map(name => ({ ...lead, name, fileUnit: 'mV' })),
    gaps: [],
    source: 'made',
  };
  const detected = marksFrom(Array.from({ length: Math.floor(count / apart) }, (_, i) => 100 + apart * i));
  const segments = [{ name: 'climb', ...span(0, count) }];
  const settings = defaultMatchSettings;
  const recordings = [{ recording, detected, detectedBy: 'built-in detector', segments }];
  return { id, title: 'Long climb', participant: 'V07', settings, recordings };
}

/** A spike for each beat; what lies between does not repeat from part to part, nor from lead to lead. */
function* words(lead: number): Generator<Int16Array> {
  for (let start = 0; start < count; start += 2 ** 20) {
    const block = new Int16Array(Math.min(2 ** 20, count - start));
    for (let i = 0; i < block.length; i++) {
      const at = start + i;
      const off = Math.abs((at % apart) - 100);
      block[i] = (off < 6 ? 220 - 36 * off : 0) + ((((at + lead * 7919) * 2654435761) >>> 13) % 9);
    }
    yield block;
  }
}

async function bundleOnDisk(path: string): Promise<ByteSource> {
  const out = openSync(path, 'w');
  const reviewed = { session: longSession(), logs: [] };
  for await (const block of bundleBlocks(reviewed, (_, lead) => words(lead), { level: 0 })) writeSync(out, block);
  closeSync(out);
  const file = openSync(path, 'r');
  const { size } = statSync(path);
  return {
    name: 'long.zip',
    size,
    async read(start, end) {
      const bytes = new Uint8Array(Math.max(0, Math.min(end, size) - start));
      readSync(file, bytes, 0, bytes.length, start);
      return bytes;
    },
  };
}

interface Watched {
  readonly page: Page;
  readonly cdp: CDPSession;
  /** Of signals, in the order asked for. */
  readonly asked: { readonly name: string; readonly isRange: boolean }[];
}

async function signedIn(page: Page, code: string): Promise<Watched> {
  const cdp = await page.context().newCDPSession(page);
  const asked: Watched['asked'] = [];
  page.on('request', request => {
    const name = /\/([0-9a-f]{64})\.part$/.exec(request.url())?.[1];
    if (name) asked.push({ name, isRange: request.headers()['range'] !== undefined });
  });
  await page.goto(`${new URL('/', server.base).href}#/lab-store`);
  await signIn(page, code);
  return { page, cdp, asked };
}

async function signIn(page: Page, code: string): Promise<void> {
  await page.getByLabel('study', { exact: true }).fill(study);
  await page.getByLabel('your code').fill(code);
  await page.getByLabel('password').fill(`pw-${code}`);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await expect(page.getByTestId('signed-in')).toContainText(code);
}

const slowLine = (cdp: CDPSession, bytesPerSecond = lineBytesPerSecond) =>
  cdp.send('Network.emulateNetworkConditions', {
    offline: false,
    latency: 20,
    downloadThroughput: bytesPerSecond,
    uploadThroughput: bytesPerSecond,
  });

const wholeParts = (asked: Watched['asked']) => asked.filter(a => !a.isRange).map(a => a.name);
const allKept = (page: Page) => page.getByText('all signals are kept in this browser');

test('a strip is there after a few ranges; the rest comes behind it and is kept for work offline', async ({ page }) => {
  const { cdp, asked } = await signedIn(page, 'R1');
  await slowLine(cdp);
  const begun = Date.now();
  await page.getByRole('button', { name: `Fetch ${id}` }).click();
  await page.getByRole('link', { name: `Open ${id}` }).click();
  await ready(page);
  await expect(page.getByTestId('beat-description')).toContainText('mV');
  const shownMs = Date.now() - begun;
  const ranges = asked.filter(a => a.isRange).length;
  // Two seconds at 20 Mbit/s are 5 MB: 20 ranges of 256 KiB at the most, and no part as a whole before them.
  expect(ranges).toBeLessThanOrEqual(20);
  expect(asked.findIndex(a => !a.isRange)).not.toBe(0);
  // Reviewed while the rest is on its way.
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('k');
  await saved(page);
  await expect(allKept(page)).toBeVisible({ timeout: 1_200_000 });
  const keptMs = Date.now() - begun;
  console.log(`${megabytes} MB at 20 Mbit/s: strip after ${shownMs} ms and ${ranges} ranges, all after ${keptMs} ms`);
  expect(new Set(wholeParts(asked)).size).toBe(wholeParts(asked).length);
  await page.context().setOffline(true);
  await page.keyboard.press('End');
  await ready(page);
  await expect(page.getByTestId('beat-description')).toContainText('mV');
});

test('torn by a closed tab, it goes on where it was', async ({ page }) => {
  const first = await signedIn(page, 'R2');
  await slowLine(first.cdp);
  await page.getByRole('button', { name: `Fetch ${id}` }).click();
  await expect.poll(() => wholeParts(first.asked).length, { timeout: 600_000 }).toBeGreaterThanOrEqual(2);
  // The last one asked for may be on its way still.
  const kept = wholeParts(first.asked).slice(0, -1);
  await page.goto('about:blank');
  await slowLine(first.cdp, 10 * lineBytesPerSecond);
  const { asked } = await signedIn(page, 'R2');
  await page.getByRole('button', { name: `Continue fetching ${id}` }).click();
  await expect(allKept(page)).toBeVisible({ timeout: 600_000 });
  expect(kept.length).toBeGreaterThan(0);
  expect(wholeParts(asked).filter(name => kept.includes(name))).toEqual([]);
  await page.getByRole('link', { name: `Open ${id}` }).click();
  await ready(page);
  await expect(page.getByTestId('beat-description')).toContainText('mV');
});

test('a full disk of the browser is said; the review and what was fetched stay', async ({ page }) => {
  const { cdp, asked } = await signedIn(page, 'R3');
  const origin = new URL('/', server.base).origin;
  const fill = async (bytes: number) => {
    const { usage } = await cdp.send('Storage.getUsageAndQuota', { origin });
    await cdp.send('Storage.overrideQuotaForOrigin', { origin, quotaSize: usage + bytes });
  };
  await slowLine(cdp);
  await page.getByRole('button', { name: `Fetch ${id}` }).click();
  await page.getByRole('link', { name: `Open ${id}` }).click();
  await ready(page);
  await expect.poll(() => wholeParts(asked).length, { timeout: 60_000 }).toBeGreaterThanOrEqual(2);
  await fill(2 ** 20);
  await expect(page.getByText('The browser has no room left for this page.')).toBeVisible({ timeout: 60_000 });
  await expect(page.getByText('no review is touched')).toBeVisible();
  // Still shown from the store, and what is decided is saved: there is room left for that.
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('k');
  await saved(page);
  await page.keyboard.press('End');
  await ready(page);
  await expect(page.getByTestId('beat-description')).toContainText('mV');
  await cdp.send('Storage.overrideQuotaForOrigin', { origin });
  await slowLine(cdp, 10 * lineBytesPerSecond);
  await page.goto(`${new URL('/', server.base).href}#/lab-store`);
  await page.getByRole('button', { name: `Continue fetching ${id}` }).click();
  await expect(allKept(page)).toBeVisible({ timeout: 600_000 });
});
