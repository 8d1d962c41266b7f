import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from '@playwright/test';
import { rawBytes } from '../../src/formats/raw/raw';
import { fiveMinutes } from './five-minutes';
import {
  fact,
  fileRow,
  giveFiles,
  keepAndOpen,
  onDisk,
  readFiles,
  recorder,
  sampleFile,
  whenSeen,
  writeLongEdf,
} from './import-page';
import { mixedEdf } from './mixed-leads';
import { column, exported, ready } from './page';

/** Marks of the sample minute: rows below the header of chest-minute-marks.csv (source: that file). */
const listed = sampleFile('chest-minute-marks.csv').buffer.toString().trim().split('\n').slice(1).map(Number);

test('EDF+ ends in a review with three leads, its marks and its segments; identification is left out', async ({
  page,
}) => {
  await giveFiles(page, [sampleFile('logger-minute.edf')]);
  const row = fileRow(page, 'logger-minute.edf');
  await expect(row).toContainText('it begins with an EDF header');
  await expect(row.getByLabel(/Keep the patient identification/)).not.toBeChecked();
  await readFiles(page);
  await expect(fact(page, 'adhesive logger', 'leads')).toHaveText('A, B, C');
  await expect(fact(page, 'adhesive logger', 'marks')).toHaveText('130 by adhesive logger');
  await expect(fact(page, 'adhesive logger', 'segments')).toHaveText('approach hike, uphill run');
  await expect(recorder(page, 'adhesive logger')).toContainText('Left out: patient code.');
  await keepAndOpen(page);
  await ready(page);
  const [marks] = await exported(page, 'Reviewed marks');
  expect(column(marks!.bytes, 'sample')).toHaveLength(130);
  await expect(page.getByTestId('ledger-adhesive-logger').locator('tbody tr[data-segment]')).toHaveCount(2);
});

test('annotations of an EDF+ are read as what the person says; without marks the built-in detector places them', async ({
  page,
}) => {
  await giveFiles(page, [sampleFile('logger-minute.edf')]);
  await readFiles(page);
  await page.getByLabel('annotations "R-peak" are').selectOption('nothing');
  await page.getByLabel('annotations "uphill run" are').selectOption('nothing');
  await expect(fact(page, 'adhesive logger', 'marks')).toContainText('built-in detector 11');
  await expect(fact(page, 'adhesive logger', 'segments')).toHaveText('approach hike');
  await keepAndOpen(page);
  await ready(page);
  const [marks] = await exported(page, 'Reviewed marks');
  // The truth of that minute holds 130 beats (source: the file's own annotations); one at each edge may be missed.
  const samples = column(marks!.bytes, 'sample').map(Number);
  expect(samples.length).toBeGreaterThanOrEqual(128);
  expect(samples.length).toBeLessThanOrEqual(132);
});

test('a text signal with a list of marks and a list of segments, under names that say nothing', async ({ page }) => {
  await giveFiles(page, [
    sampleFile('chest-minute.csv', 'a'),
    sampleFile('chest-minute-marks.csv', 'b.dat'),
    sampleFile('chest-minute-segments.csv', 'c.xyz'),
  ]);
  await expect(fileRow(page, 'a').getByLabel('taken for')).toHaveValue('text-signal');
  await expect(fileRow(page, 'a').getByLabel('samples a second (Hz)')).toHaveValue('130');
  await expect(fileRow(page, 'b.dat').getByLabel('taken for')).toHaveValue('text-marks');
  await expect(fileRow(page, 'c.xyz').getByLabel('taken for')).toHaveValue('text-segments');
  await fileRow(page, 'a').getByLabel('recorder').fill('chest band');
  await page.getByLabel('title of the session').fill('One minute uphill');
  await readFiles(page);
  await expect(fact(page, 'chest band', 'leads')).toHaveText('chest');
  await expect(fact(page, 'chest band', 'segments')).toHaveText('approach hike, uphill run');
  await keepAndOpen(page);
  await ready(page);
  await expect(page.getByRole('heading', { name: 'One minute uphill' })).toBeVisible();
  const [marks] = await exported(page, 'Reviewed marks');
  expect(column(marks!.bytes, 'sample').map(Number)).toEqual(listed);
  await expect(page.getByTestId('ledger-chest-band').locator('tbody tr[data-segment]')).toHaveCount(2);
});

test('RR intervals add up from the first beat; a list that does not fit says how far it drifts', async ({ page }) => {
  const rr = sampleFile('chest-minute-rr.txt');
  const short = { ...rr, buffer: Buffer.from(rr.buffer.toString().split('\n').slice(0, 102).join('\n')) };
  await giveFiles(page, [sampleFile('chest-minute.csv'), short]);
  await readFiles(page);
  await expect(recorder(page, 'chest-minute')).toContainText('The RR intervals end shorter than the recording');

  await giveFiles(page, [sampleFile('chest-minute.csv'), rr]);
  await expect(fileRow(page, rr.name).getByLabel('first beat at (s)')).toHaveValue('0.108');
  await readFiles(page);
  await keepAndOpen(page);
  await ready(page);
  const [marks] = await exported(page, 'Reviewed marks');
  const samples = column(marks!.bytes, 'sample').map(Number);
  expect(samples).toHaveLength(listed.length);
  // Intervals are whole milliseconds, so times drift by rounding: two samples of 7.7 ms at most.
  for (const [i, s] of samples.entries()) expect(Math.abs(s - listed[i]!)).toBeLessThanOrEqual(2);
});

test('a unit of time that its name contradicts is asked about with both rates, and the other unit brings its own', async ({
  page,
}) => {
  const { ecg } = fiveMinutes();
  const rows = Array.from(ecg.leads[0]!, (w, i) => `${(i / 250).toFixed(3)};${w}`);
  const text = `time_min;ECG (uV)\n${rows.join('\n')}\n`;
  await giveFiles(page, [{ name: 'minutes.csv', mimeType: '', buffer: Buffer.from(text) }]);
  const row = fileRow(page, 'minutes.csv');
  const doubt = row.getByText('"time_min" is read in seconds, which makes 250 Hz; in minutes');
  const rate = row.getByLabel('samples a second (Hz)');
  await expect(doubt).toBeVisible();
  await expect(rate).toHaveValue('250');
  await row.getByLabel('time is in').selectOption('minutes');
  await expect(rate).toHaveValue('4.16666667');
  await expect(doubt).toHaveCount(0);
  await row.getByLabel('time is in').selectOption('seconds');
  await readFiles(page);
  await expect(fact(page, 'minutes', 'length')).toContainText('250 Hz');
});

test('counts ask for gain and zero, a torn line is a gap, labelled marks are marks, prose is no signal', async ({
  page,
}) => {
  const { ecg } = fiveMinutes();
  const rows = Array.from(ecg.leads[0]!, String).map(w => String(Number(w) + 1000));
  rows[70_000] = '10#';
  const text = (name: string, content: string) => ({ name, mimeType: '', buffer: Buffer.from(content) });
  const peaks = Array.from(ecg.beats, b => `${(b / 250).toFixed(3).replace('.', ',')};N`);
  await giveFiles(page, [
    text('counts.csv', `ECG (counts)\n${rows.join('\n')}\n`),
    text('peaks.csv', `${peaks.join('\n')}\n`),
    text('notes.txt', 'Notes of the training day.\nThe hut was reached at noon.\n'),
  ]);
  await expect(fileRow(page, 'notes.txt').getByRole('alert')).toContainText('there is no signal in it');
  await expect(fileRow(page, 'peaks.csv').getByLabel('taken for')).toHaveValue('text-marks');
  const row = fileRow(page, 'counts.csv');
  await row.getByLabel('samples a second (Hz)').fill('250');
  await expect(row).toContainText('Give how many counts of ECG make 1 mV, and which count is 0 mV.');
  await row.getByLabel('counts per mV').fill('49');
  await expect(row.getByLabel('counts per mV')).toHaveValue('49');
  await row.getByLabel('counts per mV').fill('200');
  await row.getByLabel('count that is 0 mV').fill('1000');
  await readFiles(page);
  await expect(recorder(page, 'counts')).toContainText('1 line cannot be read: a gap of one sample stands for each.');
  await expect(fact(page, 'counts', 'gaps')).toHaveText('1, 4 ms');
  await keepAndOpen(page);
  await ready(page);
  const [marks] = await exported(page, 'Reviewed marks');
  expect(column(marks!.bytes, 'sample').map(Number)).toEqual([...ecg.beats]);
});

test('raw words are read as the person says, and two recorders make one session', async ({ page }) => {
  const { ecg } = fiveMinutes();
  const words = ecg.leads[0]!.map(w => w + 1000);
  const header = Buffer.from('FOUR');
  const buffer = Buffer.concat([header, rawBytes([words, words], 'int16', false)]);
  await giveFiles(page, [{ name: 'words', mimeType: '', buffer }, sampleFile('logger-minute.edf')]);
  const row = fileRow(page, 'words');
  await row.getByLabel('taken for').selectOption('signal, raw binary');
  await row.getByLabel('recorder').fill('bench amplifier');
  await row.getByLabel('byte order').selectOption('high byte first');
  await row.getByLabel('samples a second (Hz)').fill('250');
  await row.getByLabel('units per mV').fill('200');
  await row.getByLabel('unit that is 0 mV').fill('1000');
  await row.getByLabel('bytes to skip at the start').fill('4');
  await row.getByLabel('leads, interleaved').fill('left, right');
  await expect(row).toContainText('the recording lasts 5:00.0');
  await readFiles(page);
  await expect(fact(page, 'bench amplifier', 'length')).toContainText('5:00.0 at 250 Hz');
  await expect(fact(page, 'bench amplifier', 'leads')).toHaveText('left, right');
  await expect(fact(page, 'bench amplifier', 'marks')).toContainText(
    'by the built-in detector 11 on leads left and right',
  );
  await expect(page.getByText('The recorders differ much in length')).toBeVisible();
  await keepAndOpen(page);
  await ready(page);
  const [marks] = await exported(page, 'Reviewed marks');
  const samples = column(marks!.bytes, 'sample').map(Number);
  // Source: the simulation's own beats; a beat at either edge may be missed.
  const near = ecg.beats.filter(b => samples.some(s => Math.abs(s - b) <= 3));
  expect(near.length).toBeGreaterThanOrEqual(ecg.beats.length - 2);
});

test('a semicolon table with decimal commas in uV is shown as understood, and read as changed', async ({ page }) => {
  const lines = Array.from({ length: 2500 }, (_, i) => `${String(i * 4)};${(i % 100).toFixed(1).replace('.', ',')}`);
  const buffer = Buffer.from(`t_ms;chest_uV\n${lines.join('\n')}\n`);
  await giveFiles(page, [{ name: 'table.csv', mimeType: '', buffer }]);
  const row = fileRow(page, 'table.csv');
  await expect(row.getByLabel('separated by')).toHaveValue(';');
  await expect(row.getByLabel('decimal mark')).toHaveValue(',');
  await expect(row.getByLabel('time is in')).toHaveValue('ms');
  await expect(row.getByLabel('unit of column 2')).toHaveValue('uV');
  await expect(row.getByLabel('samples a second (Hz)')).toHaveValue('250');
  await expect(row.getByRole('cell', { name: '1,0', exact: true })).toBeVisible();
  await row.getByLabel('column 1 is').selectOption('not read');
  await expect(row.getByLabel('time is in')).toHaveCount(0);
  await row.getByLabel('samples a second (Hz)').fill('500');
  await readFiles(page);
  await expect(fact(page, 'table', 'length')).toHaveText('0:05.0 at 500 Hz');
});

test('a broken file says what is wrong in its row, and the others stay', async ({ page }) => {
  const edf = sampleFile('logger-minute.edf');
  const cut = { ...edf, name: 'cut.edf', buffer: edf.buffer.subarray(0, 300) };
  const csv = sampleFile('chest-minute.csv');
  const text = csv.buffer.toString().split('\n');
  // A single such line would be a gap.
  for (let i = 400; i < text.length - 1; i += 8) text[i] = '3.069230,not a number';
  const bad = { ...csv, name: 'bad.csv', buffer: Buffer.from(text.join('\n')) };
  await giveFiles(page, [cut, sampleFile('logger-minute.edf'), bad]);
  await expect(fileRow(page, 'cut.edf').getByRole('alert')).toHaveText(
    'cut.edf (EDF), byte 252: 4 signal headers do not fit in 300 bytes. The file is cut off or damaged: copy it again.',
  );
  await page.getByRole('button', { name: 'Read', exact: true }).click();
  await expect(fileRow(page, 'bad.csv').getByRole('alert')).toContainText('line 401');
  await expect(fileRow(page, 'bad.csv').getByRole('alert')).toBeFocused();
  await expect(fileRow(page, 'bad.csv').getByRole('alert')).toBeInViewport();
  await expect(fileRow(page, 'logger-minute.edf')).toContainText('read');
  await expect(fileRow(page, 'logger-minute.edf').getByRole('alert')).toHaveCount(0);
  await fileRow(page, 'bad.csv').getByLabel('taken for').selectOption('leave this file out');
  await readFiles(page);
  await expect(page.getByRole('dialog')).toContainText('Files left out: cut.edf, bad.csv.');
  await keepAndOpen(page);
  await ready(page);
  await expect(page.getByTestId('ledger-adhesive-logger')).toBeVisible();
});

test('a second click or Enter on Read, or on Save and open, does nothing more', async ({ page }) => {
  await giveFiles(page, [sampleFile('logger-minute.edf')]);
  await page.getByRole('button', { name: 'Read', exact: true }).dblclick();
  await expect(page.getByRole('heading', { name: 'What was read' })).toBeVisible();
  await page.getByRole('button', { name: 'Back to the files' }).click();
  await page.getByLabel('recorder').fill('logger');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Enter');
  await expect(page.getByRole('heading', { name: 'What was read' })).toBeVisible();
  await page.getByRole('button', { name: 'Save and open' }).dblclick();
  await ready(page);
  await page.goto('/#/');
  await expect(page.getByRole('link', { name: 'logger-minute' })).toHaveCount(1);
});

test('keyboard alone: a file is read, confirmed and opened', async ({ page }) => {
  await giveFiles(page, [sampleFile('logger-minute.edf')]);
  await expect(page.getByLabel('title of the session')).toBeFocused();
  await page.keyboard.press('Enter');
  await expect(page.getByRole('button', { name: 'Save and open' })).toBeFocused();
  await page.keyboard.press('Enter');
  await ready(page);
  await expect(page.getByRole('heading', { name: 'logger-minute' })).toBeVisible();
});

test('an hour of three leads opens while it is read, can be given up, and opens in full', async ({ page }, info) => {
  const path = info.outputPath('hour.edf');
  const beats = await writeLongEdf(path, 1, 250, 3, true);
  await giveFiles(page, path);
  await readFiles(page);
  await page.getByRole('button', { name: 'Back to the files' }).click();
  await page.keyboard.press('Escape');
  await expect(page.getByRole('dialog')).toHaveCount(0);
  await expect(page.getByRole('link', { name: 'hour' })).toHaveCount(0);
  await giveFiles(page, path);
  await readFiles(page);
  await expect(fact(page, 'simulated recorder', 'length')).toHaveText(/^1:00:00\.0 at 250 Hz/);
  await expect(fact(page, 'simulated recorder', 'marks')).toContainText(`${beats.length} by`);
  await keepAndOpen(page);
  await ready(page);
});

test('reading can be stopped: the files stay, nothing is kept, and it can be begun again', async ({ page }, info) => {
  const lines = Array.from({ length: 400_000 }, (_, i) => `${(i * 0.004).toFixed(3)},0.${100 + (i % 100)}\n`);
  await giveFiles(page, onDisk(info, 'slow.csv', `time_s,ecg_mV\n${lines.join('')}`));
  await whenSeen(page, 'dialog button[data-stop]', 'click');
  await page.getByRole('button', { name: 'Read', exact: true }).click();
  await expect(page.getByRole('alert')).toHaveText('Reading was cancelled.');
  await expect(fileRow(page, 'slow.csv').getByLabel('samples a second (Hz)')).toHaveValue('250');
  await readFiles(page);
  await expect(fact(page, 'slow', 'length')).toContainText('26:40.0 at 250 Hz');
});

test('an import that a closed tab cut off is reported on the start page, to be begun again or removed', async ({
  page,
}) => {
  const cutOff = async () => {
    await giveFiles(page, [sampleFile('logger-minute.edf')]);
    const loaded = page.waitForEvent('load');
    await whenSeen(page, 'progress[aria-label^="reading"]', 'reload');
    await page.getByRole('button', { name: 'Read', exact: true }).click();
    await loaded;
    await page.goto('/');
    await expect(page.getByTestId('interrupted-import')).toContainText(
      /The import of logger-minute\.edf was interrupted at \d+ %/,
    );
  };
  await cutOff();
  await page.getByRole('button', { name: 'Remove', exact: true }).click();
  await expect(page.getByTestId('interrupted-import')).toHaveCount(0);
  await page.reload();
  await expect(page.getByRole('heading', { name: 'Open your own' })).toBeVisible();
  await expect(page.getByTestId('interrupted-import')).toHaveCount(0);
  await cutOff();
  await page.getByTestId('interrupted-file').setInputFiles(sampleFile('logger-minute.edf'));
  await expect(fileRow(page, 'logger-minute.edf')).toContainText('3 leads');
  await readFiles(page);
  await keepAndOpen(page);
  await ready(page);
  await page.goto('/');
  await expect(page.getByRole('link', { name: 'logger-minute' })).toBeVisible();
  await expect(page.getByTestId('interrupted-import')).toHaveCount(0);
});

test('the ECG is found behind an EEG at another rate: marks, strip and queue are on it, and it can be changed', async ({
  page,
}) => {
  const { file, ecg } = await mixedEdf();
  await giveFiles(page, [file]);
  await readFiles(page);
  const chosen = page.getByLabel('ECG of bedside box');
  await expect(chosen.locator('option:checked')).toHaveText('EKG');
  await expect(fact(page, 'bedside box', 'ECG')).toContainText('its name is "EKG"');
  await expect(fact(page, 'bedside box', 'length')).toContainText('5:00.0 at 250 Hz');
  await chosen.selectOption('EEG C3-A2');
  await expect(fact(page, 'bedside box', 'ECG')).toContainText('as chosen by you');
  await expect(fact(page, 'bedside box', 'length')).toContainText('5:00.0 at 500 Hz');
  await chosen.selectOption('EKG');
  await expect(fact(page, 'bedside box', 'marks')).toContainText('on lead EKG');
  await keepAndOpen(page);
  await ready(page);
  await expect(page.locator('.workspace-head')).toContainText('lead EKG');
  const [marks] = await exported(page, 'Reviewed marks');
  const samples = column(marks!.bytes, 'sample').map(Number);
  // Source: the simulation's own beats; a beat at either edge may be missed.
  const near = ecg.beats.filter(b => samples.some(s => Math.abs(s - b) <= 3));
  expect(near.length).toBeGreaterThanOrEqual(ecg.beats.length - 2);
});

test('marks counted at another rate are asked about, and labels of annotations are read as the person says', async ({
  page,
}) => {
  const beats = fiveMinutes().ecg.beats;
  const labelled = Array.from(beats, b => ({ onsetSeconds: b / 250, durationSeconds: null, text: 'V-fusion' }));
  const { file } = await mixedEdf(labelled);
  const counted = `sample\n${Array.from(
    beats.filter(b => 2 * b < 75_000),
    b => 2 * b,
  ).join('\n')}\n`;
  await giveFiles(page, [file, { name: 'mixed-marks.csv', mimeType: '', buffer: Buffer.from(counted) }]);
  await readFiles(page);
  await expect(recorder(page, 'bedside box')).toContainText('If they were counted at 500 Hz, not 250 Hz');
  await page.getByRole('button', { name: 'Back to the files' }).click();
  await fileRow(page, 'mixed-marks.csv').getByLabel('taken for').selectOption('leave this file out');
  await readFiles(page);
  const label = page.getByLabel('annotations "V-fusion" are');
  await expect(label).toHaveValue('none');
  await expect(recorder(page, 'bedside box')).toContainText('"V-fusion" (');
  await label.selectOption('detected marks');
  await expect(fact(page, 'bedside box', 'marks')).toHaveText(`${beats.length} by bedside box`);
  await expect(recorder(page, 'bedside box')).not.toContainText('say which labels are beats');
  await keepAndOpen(page);
  await ready(page);
  const [marks] = await exported(page, 'Reviewed marks');
  expect(column(marks!.bytes, 'sample').map(Number)).toEqual([...beats]);
});

test('a signal that is stored already is pointed out before it is saved again', async ({ page }) => {
  await giveFiles(page, [sampleFile('logger-minute.edf')]);
  await page.getByLabel('participant code, never a name').fill('V01');
  await readFiles(page);
  await expect(page.getByText(/is stored already/)).toHaveCount(0);
  await keepAndOpen(page);
  await ready(page);
  await giveFiles(page, [sampleFile('logger-minute.edf', 'second.edf')]);
  await readFiles(page);
  await expect(page.getByText('The signal of adhesive logger is stored already: logger-minute (V01).')).toBeVisible();
});

test('an ISHNE file is known by its beginning; names and birth date in it are left out', async ({ page }) => {
  // source: tests/reference/ishne/make.py
  const buffer = readFileSync(join(import.meta.dirname, '../reference/ishne/example.ecg'));
  await giveFiles(page, [{ name: 'day', mimeType: '', buffer }]);
  await expect(fileRow(page, 'day').getByLabel('taken for')).toHaveValue('ishne');
  await expect(fileRow(page, 'day').getByLabel('recorder')).toHaveValue('adhesive logger');
  await readFiles(page);
  await expect(fact(page, 'adhesive logger', 'leads')).toHaveText('II, V5');
  await expect(fact(page, 'adhesive logger', 'length')).toContainText('0:02.5 at 200 Hz, from 2026-03-14 08:30:07');
  await expect(recorder(page, 'adhesive logger')).toContainText(
    'Left out: patient name, patient code, sex, birth date.',
  );
});

test('arrays of a MAT-file and a Parquet table are read as tables; which of them is chosen', async ({ page }) => {
  // source: tests/reference/arrays, which SciPy and DuckDB wrote
  const arrays = (name: string, as: string) => ({
    name: as,
    mimeType: 'application/octet-stream',
    buffer: readFileSync(join(import.meta.dirname, '../reference/arrays', name)),
  });
  await giveFiles(page, [arrays('compressed.mat', 'a.mat'), arrays('gzip.parquet', 'b'), arrays('plain.npz', 'c.npz')]);
  const mat = fileRow(page, 'a.mat');
  await expect(mat.getByLabel('taken for')).toHaveValue('text-signal');
  await expect(mat.getByLabel('samples a second (Hz)')).toHaveValue('250');
  await expect(mat).toContainText('r_peaks (10 x 1 int64) has another length and is left out.');
  await mat.getByLabel('r_peaks (10)').check();
  await mat.getByLabel('taken for').selectOption('text-marks');
  await expect(mat.getByLabel('marks are')).toHaveValue('sample');
  await expect(mat.getByLabel('r_peaks (10)')).toBeChecked();
  await expect(fileRow(page, 'b').getByLabel('samples a second (Hz)')).toHaveValue('250');
  await fileRow(page, 'c.npz').getByLabel('taken for').selectOption('left out');
  await readFiles(page);
  await expect(fact(page, 'b', 'leads')).toHaveText('ecg, second');
  await expect(fact(page, 'b', 'marks')).toContainText('10');
});
