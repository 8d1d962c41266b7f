import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, statSync, utimesSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { simulateEcg } from '../../../src/core/simulate/ecg';
import { restingVariability } from '../../../src/core/simulate/rhythm';
import { plainShape } from '../../../src/core/simulate/waveform';
import { builtCli } from './built-cli';
import { cli, scratch } from './run';

/** Many files in one run: what each gives alone is what the run gives (there is no outside value for this). */
const samples = join(import.meta.dirname, '../../../sample-sessions');
const hz = 250;
const raw = ['--raw', 'int16', '--rate', `${hz}`, '--gain', '200'];

function words(bpm: number): Uint8Array {
  const effort = [{ atSeconds: 0, heartRateBpm: bpm, breathsPerMinute: 15, settlingSeconds: 30 }];
  const { leads } = simulateEcg(
    {
      rhythm: { durationSeconds: 30, effort, variability: restingVariability, ventricularPerMinute: 0 },
      shape: plainShape,
      recorder: {
        ...{ samplingRateHz: hz, durationSeconds: 30, startSeconds: 0, driftPpm: 0 },
        ...{ mvPerUnit: 0.005, fullScaleMv: 5, mainsHz: 50, floorMv: 0.01, noise: [] },
        leads: [{ name: 'I', angleDegrees: 55 }],
      },
    },
    `many/${bpm}`,
  );
  return new Uint8Array(leads[0]!.buffer, leads[0]!.byteOffset, leads[0]!.byteLength);
}

const built = builtCli();
beforeAll(built.make);
afterAll(built.remove);

/** The built program, whose threads run it again. */
function threads(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(built.program, args, { encoding: 'utf8', timeout: 600_000 });
  return { code: status, out: stdout, err: stderr };
}

let files: ReturnType<typeof scratch>;
let folder = '';
let out = '';
beforeEach(() => {
  files = scratch();
  folder = files.path('in');
  out = files.path('out');
  mkdirSync(folder);
  for (const bpm of [60, 75, 90]) writeFileSync(join(folder, `${bpm}.dat`), words(bpm));
});
afterEach(() => files.remove());

const results = () => readdirSync(out).sort();

describe('detect of a folder', () => {
  test('each result is what the file gives alone, by threads and one after the other', async () => {
    const ran = threads('detect', folder, '--out', out, ...raw, '--json');
    expect(ran).toMatchObject({ code: 0, out: '' });
    expect(ran.err).toContain(`3 done, 0 done before, 0 failed, of 3; results in ${out}`);
    expect(results()).toEqual(['60.dat.json', '75.dat.json', '90.dat.json']);
    await cli('detect', folder, '--out', files.path('one'), ...raw, '--json');
    for (const bpm of [60, 75, 90]) {
      const alone = await cli('detect', join(folder, `${bpm}.dat`), ...raw, '--json');
      expect(alone.code).toBe(0);
      for (const where of [out, files.path('one')])
        expect(readFileSync(join(where, `${bpm}.dat.json`), 'utf8')).toBe(alone.out);
    }
  });

  test('bad files stop no other, are listed at the end with exit code 2, and are all that is left to do', async () => {
    writeFileSync(join(folder, 'note.txt'), 'no signal here');
    writeFileSync(join(folder, '.hidden'), '');
    const given = [folder, join(folder, 'nowhere.dat'), '--out', out];
    const first = threads('detect', ...given, '--raw', 'int16', '--jobs', '2');
    expect(first.code).toBe(2);
    expect(first.err).toContain('0 done, 0 done before, 5 failed, of 5');
    expect(first.err.match(/failed: .*--raw needs --rate/g)).toHaveLength(4);
    expect(results()).toEqual([]);
    const second = threads('detect', ...given, ...raw);
    expect(second.code).toBe(2);
    expect(second.err).toMatch(
      /4 done, 0 done before, 1 failed, of 5; .*\nnote: failed: .*nowhere\.dat: there is no file/,
    );
    const third = threads('detect', ...given, ...raw);
    expect(third.err).toContain('0 done, 4 done before, 1 failed, of 5');
    const tables = ['60.dat.csv', '75.dat.csv', '90.dat.csv', 'note.txt.csv'];
    expect(results()).toEqual(tables.flatMap(name => [name, `${name}-metadata.json`]));
  });
});

test('what is doubtful about each file is printed with its name, by threads and one after the other', async () => {
  const folder = files.path('tables');
  mkdirSync(folder);
  const rows = (jitter: (i: number) => number) =>
    `time_s,ECG (uV)\n${Array.from({ length: 2000 }, (_, i) => `${((i + jitter(i)) / 250).toFixed(5)},${i % 200 < 6 ? 900 : i % 7}`).join('\n')}\n`;
  writeFileSync(
    join(folder, 'even.csv'),
    rows(() => 0),
  );
  writeFileSync(
    join(folder, 'jitter.csv'),
    rows(i => 0.2 * Math.sin(i * i)),
  );
  const expected = [expect.stringContaining('jitter.csv: doubtful: The time stamps jitter by about')];
  const doubts = ({ err }: { err: string }) => err.split('\n').filter(line => line.includes(': doubtful: '));
  expect(doubts(threads('detect', folder, '--out', out))).toEqual(expected);
  const one = await cli('detect', folder, '--out', files.path('one'));
  expect(doubts(one)).toEqual(expected);
  const strict = await cli('detect', folder, '--out', files.path('strict'), '--strict');
  expect(strict.code).toBe(2);
  expect(strict.err).toMatch(/failed: .*jitter\.csv: --strict: 1 doubt and 0 things left out/);
});

describe('the other commands', () => {
  const bundles = ['V01.zip', 'V02.zip'].map(name => join(samples, 'sessions', name));

  test('score writes of each bundle what it prints', async () => {
    expect(threads('score', ...bundles, '--out', out, '--json')).toMatchObject({ code: 0 });
    expect(results()).toEqual(['V01.zip.json', 'V02.zip.json']);
    expect(readFileSync(join(out, 'V02.zip.json'), 'utf8')).toBe((await cli('score', bundles[1]!, '--json')).out);
  });

  test('convert gives each file another ending; sample plans each', async () => {
    expect(threads('convert', folder, '--out', out, '--to', 'csv', ...raw)).toMatchObject({ code: 0 });
    expect(results()).toEqual(['60', '75', '90'].flatMap(f => [`${f}.csv`, `${f}.csv-metadata.json`]));
    await cli('convert', join(folder, '60.dat'), files.path('60.csv'), ...raw);
    expect(readFileSync(join(out, '60.csv'))).toEqual(readFileSync(files.path('60.csv')));
    const plans = files.path('plans');
    expect(threads('sample', bundles[0]!, '--seed', '7', '--out', plans)).toMatchObject({ code: 0 });
    expect(readFileSync(join(plans, 'V01.zip.csv'), 'utf8')).toBe(
      (await cli('sample', bundles[0]!, '--seed', '7')).out,
    );
  });

  test('what cannot be is refused before the first file is read', async () => {
    const refused = async (...args: string[]) => (await cli(...args)).err;
    expect(await refused('detect', '--out', out)).toContain('--out needs files, or a folder of them');
    expect(await refused('convert', folder, '--out', out)).toContain('needs --to');
    expect(await refused('convert', folder, '--out', out, '--to', 'mp3')).toContain('OUT ends in .edf');
    expect(await refused('convert', 'a.edf', 'a.txt', '--out', out, '--to', 'csv')).toContain('would both become');
    expect(await refused('detect', folder, '--out', out, '--jobs', '0')).toContain('--jobs needs a number');
    expect(await refused('detect', ...bundles)).toContain('or many with --out DIR');
  });
});

describe('what is done', () => {
  test('is not done again, unless its file is newer or --again asks for it', async () => {
    await cli('detect', folder, '--out', out, ...raw);
    const at = () => statSync(join(out, '60.dat.csv')).mtimeMs;
    const first = at();
    expect((await cli('detect', folder, '--out', out, ...raw)).err).toContain('0 done, 3 done before');
    expect(at()).toBe(first);
    utimesSync(join(folder, '60.dat'), new Date(), new Date(Date.now() + 60_000));
    expect((await cli('detect', folder, '--out', out, ...raw)).err).toContain('1 done, 2 done before');
    expect((await cli('detect', folder, '--out', out, '--again', ...raw)).err).toContain('3 done, 0 done before');
  });
});
