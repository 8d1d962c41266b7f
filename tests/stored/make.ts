// Stores a sample of what this version of the page keeps and hands on: `npm run build`, then `npm run stored`. Samples of
// released versions are never made anew: a file that is there is left alone.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { chromium } from '@playwright/test';
import { preview } from 'vite';
import { marksFrom } from '../../src/core/marks/markset';
import { defaultMatchSettings } from '../../src/core/marks/match';
import type { Session } from '../../src/core/review/session';
import { span } from '../../src/core/units';
import { bundleFormatVersion, studyFormatVersion } from '../../src/formats/bundle/schema';
import { writeBundle } from '../../src/formats/bundle/writer';
import { bytesSource } from '../../src/formats/bytes/source';
import { lockedFormatVersion } from '../../src/formats/locked/locked';
import { upgrades, versionAfter } from '../../src/storage/upgrades';
import { bundleContents, studyContents } from './contents';
import { dumpStore } from './in-page';
import { storedLocked, storedStudy } from './study';

const rateHz = 100;
const seconds = 40;
const beats = Array.from({ length: 48 }, (_, i) => 40 + Math.round(i * 82.3));
/** What was not recorded has no words. */
const gap = span(1900, 1960);
const onTimeLine = Int16Array.from({ length: rateHz * seconds }, (_, i) => {
  const near = beats.reduce((best, b) => (Math.abs(b - i) < Math.abs(best - i) ? b : best));
  return Math.round(1000 * Math.exp(-((i - near) ** 2) / 4) + 40 * Math.sin(i / 17));
});
const words = Int16Array.of(...onTimeLine.subarray(0, gap.start), ...onTimeLine.subarray(gap.end));
const session: Session = {
  id: 'stored-sample',
  title: 'Stored sample',
  participant: 'V09',
  settings: defaultMatchSettings,
  recordings: [
    {
      recording: {
        id: 'chest-band',
        recorder: 'chest band',
        samplingRateHz: rateHz,
        sampleCount: onTimeLine.length,
        startedAt: '2026-09-12T09:00:00',
        leads: [
          {
            name: 'chest',
            samplingRateHz: rateHz,
            sampleCount: onTimeLine.length,
            unrecorded: [gap],
            format: 'int16',
            mvPerUnit: 0.001,
            offset: 0,
            fileUnit: 'mV',
          },
        ],
        gaps: [gap],
        source: 'made',
      },
      // One mark too many, one missing, one beside its beat.
      detected: marksFrom(
        [...beats.filter((_, i) => i !== 5).map((b, i) => (i === 9 ? b + 12 : b)), 80].sort((a, b) => a - b),
      ),
      detectedBy: 'chest band',
      segments: [
        { name: 'seated radio watch', ...span(0, 2000) },
        { name: 'packing the sled', ...span(2000, 4000) },
      ],
    },
  ],
};

const pathOf = (name: string) => join(import.meta.dirname, name);
/** What is there is left alone. */
function storeOnce(name: string, bytes: Uint8Array | string): void {
  if (!existsSync(pathOf(name))) writeFileSync(pathOf(name), bytes);
}
const json = (value: unknown) => `${JSON.stringify(value, null, 1)}\n`;
const bundleName = `bundle-${bundleFormatVersion}`;
const studyName = `study-${studyFormatVersion}`;
const server = await preview({ root: pathOf('../..'), preview: { port: 4291, strictPort: false } });
const browser = await chromium.launch({
  executablePath: process.env['CHROMIUM_PATH'] ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--no-first-run'],
});
try {
  const page = await browser.newPage();
  // What runs this file names its functions with a function of its own, which the page does not have.
  await page.addInitScript('globalThis.__name = value => value');
  await page.goto(server.resolvedUrls!.local[0]!);
  const buffer = Buffer.from(writeBundle({ session, logs: [] }, () => words));
  await page.getByTestId('file-input').setInputFiles({ name: 'made.zip', mimeType: 'application/zip', buffer });
  await page.getByRole('link', { name: session.title }).click();
  await page.getByTestId('beat-description').waitFor();
  for (const key of 'ArrowRight k ArrowRight Delete ArrowRight . z ArrowRight k Shift+Enter'.split(' ')) {
    await page.keyboard.press(key);
  }
  await page.getByText(/^saved, \d+ entries/).waitFor();
  const arriving = page.waitForEvent('download');
  await page.keyboard.press('Control+s');
  const bundle = readFileSync(await (await arriving).path());
  await page.getByRole('link', { name: 'Sessions' }).click();
  await page.getByRole('link', { name: session.title }).click();
  // biome-ignore lint/performance/useDomNodeTextContent: what a person sees counts, not what is hidden
  const ledger = await page.getByTestId('ledger-chest-band').innerText();
  const dump = await page.evaluate(dumpStore);
  const entries = dump.records.filter(r => (r.key as string[])[0] === 'entry').length;
  storeOnce(`store-${versionAfter(upgrades)}.json`, `${JSON.stringify({ shown: { ledger, entries }, ...dump })}\n`);
  storeOnce(`${bundleName}.zip`, bundle);
} finally {
  await browser.close();
  await server.close();
}

// The others are made from the stored bundle, so that they hold the same. Beside each lies what was read from it then.
const bundle = readFileSync(pathOf(`${bundleName}.zip`));
storeOnce(`${bundleName}.json`, json(await bundleContents(bytesSource(bundleName, bundle))));
storeOnce(`${studyName}.zip`, await storedStudy(session.id, bundle));
storeOnce(
  `${studyName}.json`,
  json(await studyContents(bytesSource(studyName, readFileSync(pathOf(`${studyName}.zip`))))),
);
storeOnce(`locked-${lockedFormatVersion}.zip.locked`, await storedLocked(bundle));
