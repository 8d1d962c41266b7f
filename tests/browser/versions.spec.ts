import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, type Page, test } from '@playwright/test';
import { unzipSync, zipSync } from 'fflate';
import { bundleFormatVersion, studyFormatVersion } from '../../src/formats/bundle/schema';
import { bytesSource } from '../../src/formats/bytes/source';
import { lockedFormatVersion } from '../../src/formats/locked/locked';
import { upgrades, versionAfter } from '../../src/storage/upgrades';
import { studyContents } from '../stored/contents';
import { fillStore, type StoreDump } from '../stored/in-page';
import { storedPassphrase } from '../stored/study';
import { chooseCode, given, kept, openBundle, ready } from './page';

const stored = join(import.meta.dirname, '../stored');
const title = 'Stored sample';

interface Sample extends StoreDump {
  /** What the page of that version showed. */
  readonly shown: { readonly ledger: string; readonly entries: number };
}

const storeSample = (version: number) =>
  JSON.parse(readFileSync(join(stored, `store-${version}.json`), 'utf8')) as Sample;
/**
 * Of 18 right ones among 19, one run of errors, as the command `score` prints it for the stored bundle. The samples were
 * stored with an interval of independent intervals; whoever changes the method changes this line, and nothing else here.
 */
const intervalNow = '31.8 to 100.0';

/**
 * Counts and shares of the stored review: of the 87 % of its first segment that were looked at, and of nothing else. The
 * pages that stored the samples counted what nobody had looked at as right, beside the same shares.
 */
const ledgerNow = [
  ['seated radio watch', 'so far, 87 % looked at', '0', '0', '1', '0', '94.7 %', '18 of 19', intervalNow],
  ['packing the sled', 'not reviewed yet', '–', '–', '–', '–', '–'],
  ['all segments', 'so far, 43 % looked at', '0', '0', '1', '0', '94.7 %', '18 of 19', intervalNow],
].flat();
const sharesOf = (ledger: string) => [...ledger.matchAll(/(\d+) % looked at/g)].map(found => found[1]);

async function expectTheNumbers(page: Page, shown: Sample['shown']): Promise<void> {
  // biome-ignore lint/performance/useDomNodeTextContent: what a person sees counts, not what is hidden
  const ledger = await page.getByTestId('ledger-chest-band').innerText();
  const cells = ledger.split(/\s*[\n\t]+\s*/);
  expect(cells.slice(6)).toEqual(ledgerNow);
  expect(sharesOf(ledger)).toEqual(sharesOf(shown.ledger).filter(share => share !== '0'));
}
const versionsUpTo = (newest: number) => Array.from({ length: newest }, (_, i) => i + 1);

/** The store as a page of another version has left it. */
async function visitWith(page: Page, sample: StoreDump): Promise<void> {
  await page.goto('/icon.svg');
  await page.evaluate(fillStore as (dump: unknown) => Promise<void>, sample as unknown);
  await page.goto('/');
}

for (const version of versionsUpTo(versionAfter(upgrades))) {
  test(`a store of version ${version} opens with the numbers it had`, async ({ page }) => {
    const { shown, ...sample } = storeSample(version);
    await visitWith(page, sample);
    await page.getByRole('link', { name: title }).click();
    await ready(page);
    await expect(page.getByText(/^No signal is stored/)).toHaveCount(0);
    expect(await kept(page)).toBeGreaterThanOrEqual(shown.entries);
    await expectTheNumbers(page, shown);
    const { log } = await given(page);
    expect(log.entries.length).toBeGreaterThanOrEqual(shown.entries);
  });
}

for (const version of versionsUpTo(bundleFormatVersion)) {
  test(`a bundle of version ${version} opens with the numbers it had`, async ({ page }) => {
    const { shown } = storeSample(1);
    await openBundle(page, `bundle-${version}.zip`, readFileSync(join(stored, `bundle-${version}.zip`)), title);
    await expectTheNumbers(page, shown);
    expect(await kept(page)).toBeGreaterThanOrEqual(shown.entries - 1);
  });
}

for (const version of versionsUpTo(studyFormatVersion)) {
  test(`a study bundle of version ${version} is taken in and handed on with all that was in it`, async ({ page }) => {
    await page.goto('/#/study');
    const buffer = readFileSync(join(stored, `study-${version}.zip`));
    const name = `study-${version}.zip`;
    await page.getByTestId('study-file').setInputFiles({ name, mimeType: 'application/zip', buffer });
    await expect(page.getByTestId('study-totals')).toContainText('3 of 4 recordings imported · 2 reviewed');
    const arriving = page.waitForEvent('download');
    await page.getByRole('button', { name: 'Export the study as one bundle' }).click();
    await chooseCode(page, 'R1');
    const bytes = readFileSync(await (await arriving).path());
    const before: unknown = JSON.parse(readFileSync(join(stored, `study-${version}.json`), 'utf8'));
    expect(await studyContents(bytesSource('handed-on.zip', bytes))).toEqual(before);
  });
}

for (const version of versionsUpTo(lockedFormatVersion)) {
  test(`a locked bundle of version ${version} opens with its passphrase and the numbers it had`, async ({ page }) => {
    const { shown } = storeSample(1);
    const name = `locked-${version}.zip.locked`;
    await page.goto('/');
    const file = { name, mimeType: '', buffer: readFileSync(join(stored, name)) };
    await page.getByTestId('file-input').setInputFiles(file);
    await page.getByLabel(`passphrase of ${name}`).fill(storedPassphrase);
    await page.keyboard.press('Enter');
    await page.getByRole('link', { name: title }).click();
    await ready(page);
    await expectTheNumbers(page, shown);
  });
}

test('every version of store, bundle, study and locked bundle has a stored sample', () => {
  for (const v of versionsUpTo(versionAfter(upgrades))) expect(existsSync(join(stored, `store-${v}.json`))).toBe(true);
  for (const v of versionsUpTo(bundleFormatVersion)) expect(existsSync(join(stored, `bundle-${v}.zip`))).toBe(true);
  for (const v of versionsUpTo(studyFormatVersion)) expect(existsSync(join(stored, `study-${v}.zip`))).toBe(true);
  for (const v of versionsUpTo(lockedFormatVersion))
    expect(existsSync(join(stored, `locked-${v}.zip.locked`))).toBe(true);
});

test('a store that a newer page has written is refused with what to do, and stays as it is', async ({ page }) => {
  const { shown: _, ...sample } = storeSample(1);
  const newer = versionAfter(upgrades) + 1;
  const records = sample.records.map(r =>
    (r.key as string[])[0] === 'store' ? { ...r, value: { ...(r.value as object), version: newer } } : r,
  );
  await visitWith(page, { ...sample, records });
  const told = page.getByRole('alert').filter({ hasText: 'The store was written by a newer version of this page.' });
  await expect(told.first()).toContainText('Reload to get the newer version');
  await expect(page.getByRole('link', { name: title })).toHaveCount(0);
  await page.goto('/#/review/stored-sample');
  await expect(page.getByRole('alert').filter({ hasText: 'newer version' }).first()).toBeVisible();
  const version = await page.evaluate(async () => {
    const asked = indexedDB.open('beat-ledger');
    await new Promise(done => {
      asked.onsuccess = done;
    });
    const found = asked.result.transaction('records').objectStore('records').get(['store']);
    await new Promise(done => {
      found.onsuccess = done;
    });
    return (found.result as { version: number }).version;
  });
  expect(version).toBe(newer);
});

test('a bundle of a newer format is refused with what to do', async ({ page }) => {
  const entries = unzipSync(readFileSync(join(stored, 'bundle-1.zip')));
  const manifest = JSON.parse(new TextDecoder().decode(entries['manifest.json'])) as object;
  const changed = { ...manifest, formatVersion: bundleFormatVersion + 1 };
  entries['manifest.json'] = new TextEncoder().encode(JSON.stringify(changed));
  await page.goto('/');
  const file = { name: 'newer.zip', mimeType: 'application/zip', buffer: Buffer.from(zipSync(entries)) };
  await page.getByTestId('file-input').setInputFiles(file);
  await expect(page.getByRole('alert')).toContainText(
    `it was written in format version ${bundleFormatVersion + 1}; this program reads up to ${bundleFormatVersion}. Open it with a newer version of the program.`,
  );
  await expect(page.getByRole('link', { name: title })).toHaveCount(0);
});
