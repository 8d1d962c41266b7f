import { expect, type Page, test } from '@playwright/test';
import { openSteps } from './step';

const open = (page: Page) => openSteps<typeof import('./pages/worker-steps')>(page, 'worker-steps');

test('an EDF file goes through the worker into the store word for word', async ({ page }) => {
  const call = await open(page);
  const { leads, wrong, wrongColumns, lastBytes } = await call('importEdf', 1800);
  expect(leads).toEqual([
    ['ECG 1', 450_000, 'int16'],
    ['ECG 2', 450_000, 'int16'],
    ['ECG 3', 450_000, 'int16'],
  ]);
  expect({ wrong, wrongColumns }).toEqual({ wrong: 0, wrongColumns: 0 });
  expect(lastBytes).toBeGreaterThan(0);
});

test('what an import reports as ready can be read before it ends', async ({ page }) => {
  const call = await open(page);
  const { checks, wrong, earliest } = await call('readWhileImporting', 40_000);
  expect(checks).toBeGreaterThan(0);
  expect(wrong).toBe(0);
  expect(earliest).toBeLessThan(1);
});

test('a cancelled import says so and leaves nothing behind', async ({ page }) => {
  const call = await open(page);
  expect(await call('cancelImport', 40_000)).toEqual({ name: 'Cancelled', held: false });
});

test('a broken file arrives as the error that names file and remedy', async ({ page }) => {
  const call = await open(page);
  const error = await call('importBroken');
  expect(error).toMatchObject({ name: 'FormatError', file: 'broken.edf' });
  expect(error?.remedy).not.toBe('');
});

test('a worker that ends takes its job with it, and the next job gets a new one', async ({ page }) => {
  const call = await open(page);
  expect(await call('closeInTheMiddle', 4000)).toEqual({ name: 'Cancelled', samples: 5000 });
});

test('a file is known by its contents before it is read', async ({ page }) => {
  const call = await open(page);
  const { edf, csv, stored } = await call('lookAt');
  const lead = (n: number) => [`ECG ${n}`, 250, 15_000];
  expect(edf).toEqual(['edf', [lead(1), lead(2), lead(3)]]);
  expect(csv).toEqual(['text-signal', 250]);
  expect(stored).toEqual(['text', 500]);
});

test('a stored session goes into a bundle and out of it word for word', async ({ page }) => {
  const call = await open(page);
  expect(await call('bundleThere', 1200)).toEqual({ same: true, wrong: 0, read: 300_000, detected: [82, 332, 582] });
});

test('the built-in detector runs over a stored lead', async ({ page }) => {
  const call = await open(page);
  const { beats, shares } = await call('detectStored', 300);
  expect(shares).toBeGreaterThan(0);
  // source: the lead was made with one beat a second, its apex 0.33 s into each; window of 150 ms after ANSI/AAMI EC57
  const apexes = Array.from({ length: 300 }, (_, s) => s * 250 + 82);
  const near = apexes.filter(apex => beats.some(beat => Math.abs(beat - apex) <= 37));
  expect(near.length).toBeGreaterThanOrEqual(298);
  expect(beats.length).toBeLessThanOrEqual(301);
});
