import { expect, test } from '@playwright/test';
import { readBundle } from '../../src/formats/bundle/reader';
import { memorySink } from '../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../src/formats/bytes/source';
import { readEdf } from '../../src/formats/edf/reader';
import { mostlyGap } from '../bench/mostly-gap';
import { fact, giveFiles, keepAndOpen, readFiles } from './import-page';
import { exported, given, goTo, ready, saved } from './page';

test('sixty days that are mostly gap are read, reviewed at the far end and handed on in a few kB', async ({ page }) => {
  const { bytes, beats, recording, words } = await mostlyGap(60, 3, 20);
  await giveFiles(page, [{ name: 'sixty-days.edf', mimeType: '', buffer: Buffer.from(bytes) }]);
  await readFiles(page);
  await expect(fact(page, 'adhesive logger', 'gaps')).toHaveText(/^2, 5183\d{3}\.\d s$/);
  await keepAndOpen(page);
  await ready(page);

  // The last strip, 60 days after the first.
  await goTo(page, beats.at(-5)! / 250);
  await expect(page.getByTestId('beat-description')).toBeVisible();
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('Delete');
  await saved(page);
  await page.reload();
  await ready(page);

  const file = await given(page);
  const bundle = await readBundle(bytesSource('x', file.bytes));
  const item = bundle.reviewed.session.recordings[0]!;
  expect(item.recording.gaps).toEqual(recording.gaps);
  expect(item.recording.leads[0]!.unrecorded).toEqual(recording.gaps);
  const sink = memorySink();
  await bundle.readRecording(item.recording.id, sink);
  expect(sink.lead(0)).toEqual(words);
  expect(file.bytes.length).toBeLessThan(3 * bytes.length);
  expect(item.detected.length).toBeGreaterThan(beats.length - 9);

  const [edf] = await exported(page, 'EDF+ with signal');
  const back = await readEdf(bytesSource('back.edf', edf!.bytes), {}, memorySink());
  expect(back.recording.gaps).toEqual(recording.gaps);
  expect(back.marks).toHaveLength(item.detected.length - 1);
});
