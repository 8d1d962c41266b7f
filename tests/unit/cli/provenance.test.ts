import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { appName, appVersion } from '../../../src/core/report/version';
import { cli, scratch } from './run';

const files = scratch();
afterAll(files.remove);

/** 20 s at 250 Hz with an invented beat every 0.8 s, and a column that does not say its unit. */
const near = (i: number) => Math.min(Math.abs((i % 200) - 100), 200);
const signal = files.write(
  'rest.csv',
  `time_ms,ECG\n${Array.from({ length: 5000 }, (_, i) => `${i * 4},${Math.round(1200 * Math.exp(-(near(i) ** 2) / 8))}`).join('\n')}\n`,
);
const marks = files.write('marks.csv', 'sample\n100\n300\n500\n700\n700\n');
const beats = files.write('beats.csv', 'sample\n100\n300\n500\n700\n');
const sha256 = (path: string) => createHash('sha256').update(readFileSync(path)).digest('hex');
const factsIn = (path: string) => JSON.parse(readFileSync(path, 'utf8'));

describe('what a table on stdout was made from', () => {
  test('detect writes file, format, checksum, flags, doubts and version, for the table that the name is of', async () => {
    const path = files.path('d.csv-metadata.json');
    const ran = await cli('detect', signal, '--lead', 'ECG', '--provenance', path);
    expect(ran.code).toBe(0);
    expect(ran.out).toBe((await cli('detect', signal, '--lead', 'ECG')).out);
    // W3C, Metadata Vocabulary for Tabular Data, 2015: the context, and `url` as the table's name beside it.
    expect(factsIn(path)).toEqual({
      '@context': 'http://www.w3.org/ns/csvw',
      url: 'd.csv',
      notes: [
        {
          writtenBy: `${appName} ${appVersion}`,
          command: 'detect',
          files: [{ name: 'rest.csv', format: 'text', sha256: sha256(signal) }],
          settings: { lead: 'ECG' },
          understood: expect.arrayContaining([expect.stringContaining('even grid of 250 Hz')]),
          doubts: [expect.stringMatching(/^ECG does not say its unit/)],
          dropped: [],
        },
      ],
    });
  });

  test('score names every list it read, without the folders', async () => {
    const path = files.path('score.json');
    const flags = ['--rate', '250', '--detected', marks, '--reviewed', beats];
    const { code } = await cli('score', ...flags, '--provenance', path);
    expect(code).toBe(0);
    const { url, notes } = factsIn(path);
    expect(url).toBeUndefined();
    expect(notes[0]).toMatchObject({
      files: [
        { name: 'marks.csv', format: 'list of marks', sha256: sha256(marks) },
        { name: 'beats.csv', format: 'list of beats', sha256: sha256(beats) },
      ],
      settings: { rate: '250', detected: 'marks.csv', reviewed: 'beats.csv' },
      doubts: ['marks.csv: 1 repeated sample is counted once.'],
    });
    expect(readFileSync(path, 'utf8')).not.toContain(files.path(''));
  });

  test('JSON carries the same under provenance', async () => {
    const { out } = await cli('sample', signal, '--seed', '7', '--marks', marks, '--json');
    expect(JSON.parse(out).provenance).toEqual({
      writtenBy: `${appName} ${appVersion}`,
      command: 'sample',
      files: [
        { name: 'rest.csv', format: 'text', sha256: sha256(signal) },
        { name: 'marks.csv', format: 'list of marks', sha256: sha256(marks) },
      ],
      settings: { seed: '7', marks: 'marks.csv' },
    });
  });

  test('writes over no file, and nothing is printed then', async () => {
    const before = readFileSync(beats, 'utf8');
    const ran = await cli('detect', signal, '--provenance', beats);
    expect(ran).toMatchObject({ code: 2, out: '' });
    expect(ran.err).toContain('beats.csv is there already: --provenance writes over no file');
    expect(readFileSync(beats, 'utf8')).toBe(before);
  });

  test('--strict that refuses leaves no description', async () => {
    const path = files.path('strict.json');
    expect((await cli('detect', signal, '--strict', '--provenance', path)).code).toBe(2);
    expect(existsSync(path)).toBe(false);
  });

  test('each table of many has its own beside it; JSON needs none', async () => {
    const out = files.path('many');
    expect((await cli('detect', signal, '--out', out)).code).toBe(0);
    const table = join(out, 'rest.csv.csv');
    expect(existsSync(table)).toBe(true);
    const { url, notes } = factsIn(`${table}-metadata.json`);
    expect(url).toBe('rest.csv.csv');
    expect(notes[0].files).toEqual([{ name: 'rest.csv', format: 'text', sha256: sha256(signal) }]);
    expect(notes[0].settings).toEqual({});
    const json = files.path('many-json');
    expect((await cli('detect', signal, '--out', json, '--json')).code).toBe(0);
    expect(existsSync(join(json, 'rest.csv.json-metadata.json'))).toBe(false);
    const refused = await cli('detect', signal, '--out', json, '--provenance', files.path('x.json'));
    expect(refused.code).toBe(2);
    expect(refused.err).toContain('--provenance goes without --out');
  });
});
