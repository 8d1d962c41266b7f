import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Download, expect, type Page } from '@playwright/test';
import { newLog } from '../../src/core/marks/log';
import { logHeader } from '../../src/core/review/session';
import { readBundle } from '../../src/formats/bundle/reader';
import { bytesSource } from '../../src/formats/bytes/source';

/** What a person does with the page, in words the journeys can use. */

/** Opens the page fresh and gives it a file as if it had been chosen. */
export async function openBundle(page: Page, name: string, bytes: Uint8Array, title: string): Promise<void> {
  // From the disk: the browser takes a path at once, and bytes in words of a message.
  const folder = mkdtempSync(join(tmpdir(), 'bundle-'));
  try {
    writeFileSync(join(folder, name), bytes);
    await openBundleFile(page, join(folder, name), title);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** The same with a file that is on the disk. */
export async function openBundleFile(page: Page, path: string, title: string): Promise<void> {
  await page.goto('/');
  await page.getByTestId('file-input').setInputFiles(path);
  await page.getByRole('link', { name: title }).click();
  await ready(page);
}

/** The strip is there and the keys answer; whoever has no code yet reviews as R1. */
export async function ready(page: Page): Promise<void> {
  const asked = page.getByTestId('own-code');
  await expect(page.getByTestId('saving').or(asked)).toBeVisible();
  if (await asked.isVisible()) await chooseCode(page, 'R1');
  await expect(page.getByTestId('saving')).toBeVisible();
  await expect(page.getByTestId('beat-description')).not.toBeEmpty();
}

/** Where the page asks for a rater's code. */
export async function chooseCode(page: Page, code: string): Promise<void> {
  await page.getByTestId('own-code').fill(code);
  await page.getByTestId('own-code').press('Enter');
}

/** Waits until everything typed so far is on disk. */
export async function saved(page: Page): Promise<void> {
  await expect(page.getByTestId('saving')).toHaveText(/^saved/);
}

export async function goTo(page: Page, seconds: number): Promise<void> {
  await page.keyboard.press('g');
  await page.keyboard.insertText(seconds.toFixed(3));
  await page.keyboard.press('Enter');
  await expect(page.getByRole('dialog')).toHaveCount(0);
}

/** Tables come with a file that says what they were made from. */
const tables = new Set(['Results table', 'Reviewed marks', 'RR intervals', 'Audit trail']);

/** Presses a button of the export dialog and reads the files it gives: what a table was made from after the tables. */
export async function exported(page: Page, button: string, files = 1): Promise<{ name: string; bytes: Buffer }[]> {
  await page.keyboard.press('e');
  const arrived: Download[] = [];
  const take = (download: Download) => void arrived.push(download);
  page.on('download', take);
  await page.getByRole('button', { name: button, exact: true }).click();
  await expect.poll(() => arrived.length, { timeout: 30_000 }).toBe(tables.has(button) ? Math.max(2, files) : files);
  page.off('download', take);
  const out = [];
  for (const download of arrived) {
    out.push({ name: download.suggestedFilename(), bytes: readFileSync(await download.path()) });
  }
  await page.keyboard.press('Escape');
  // A small file may be told of before a large one that was given first.
  const beside = (file: { name: string }) => Number(file.name.endsWith('-metadata.json'));
  return out.sort((a, b) => beside(a) - beside(b));
}

export function column(csv: Buffer, name: string): string[] {
  const [head = '', ...lines] = csv.toString('utf8').trim().split('\r\n');
  const i = head.split(',').indexOf(name);
  return lines.map(line => line.split(',')[i] ?? '');
}

/** Text of one cell of the ledger. */
export function cell(page: Page, recordingId: string, segment: string, name: string) {
  return page.getByTestId(`ledger-${recordingId}`).locator(`tr[data-segment="${segment}"] [data-cell="${name}"]`);
}

/** Keys for `pressInARow`: what they say, where they sit, and how systems number them. */
const quickKeys = {
  ArrowRight: { key: 'ArrowRight', code: 'ArrowRight', windowsVirtualKeyCode: 39 },
  Delete: { key: 'Delete', code: 'Delete', windowsVirtualKeyCode: 46 },
  k: { key: 'k', code: 'KeyK', windowsVirtualKeyCode: 75 },
  z: { key: 'z', code: 'KeyZ', windowsVirtualKeyCode: 90 },
  '.': { key: '.', code: 'Period', windowsVirtualKeyCode: 190 },
} as const;

/** Presses keys without waiting for each to be answered, as quick hands do; comes back when the last one is. */
export async function pressInARow(page: Page, keys: readonly (keyof typeof quickKeys)[]): Promise<void> {
  const cdp = await page.context().newCDPSession(page);
  const press = (type: 'rawKeyDown' | 'keyUp', key: keyof typeof quickKeys) =>
    cdp.send('Input.dispatchKeyEvent', { type, ...quickKeys[key] });
  await Promise.all(keys.flatMap(key => [press('rawKeyDown', key), press('keyUp', key)]));
  await cdp.detach();
}

/** `keys`, so many times over. */
export function times<const T>(count: number, ...keys: readonly T[]): T[] {
  return Array.from({ length: count }, () => keys).flat();
}

/** Keeps `count` marks one after the other: one entry each. */
export function keep(page: Page, count: number): Promise<void> {
  return pressInARow(page, times(count, 'ArrowRight', 'k'));
}

/** Entries on disk; waits while one is on its way. */
export async function kept(page: Page): Promise<number> {
  const found = await page.waitForFunction(() => {
    const text = document.querySelector('[data-testid="saving"]')?.textContent ?? '';
    return /saved, (\d+)/.exec(text)?.[1];
  });
  return Number(await found.jsonValue());
}

/** The bundle that a key or button passes on, and the log in it: an empty one where nothing was rated yet. */
export async function given(page: Page, press: () => Promise<void> = () => page.keyboard.press('Control+s')) {
  const arriving = page.waitForEvent('download');
  await press();
  const bytes = readFileSync(await (await arriving).path());
  const { reviewed, warnings } = await readBundle(bytesSource('given.zip', bytes));
  expect(warnings).toEqual([]);
  return { bytes, log: reviewed.logs[0] ?? newLog(logHeader(reviewed.session, 'R1')) };
}
