import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import { readBundle } from '../../../src/formats/bundle/reader';
import { bytesSource } from '../../../src/formats/bytes/source';
import { cli, scratch } from './run';

const files = scratch();
afterAll(files.remove);

/** 40 s at 250 Hz: a counter, slow noise, and an invented ECG with a beat every 0.8 s. */
const beats = Array.from({ length: 50 }, (_, i) => 100 + 200 * i + Math.round(20 * Math.sin(i * 1.7)));
const spike = (i: number) =>
  Math.min(...beats.slice(Math.max(0, Math.floor(i / 200) - 1), Math.floor(i / 200) + 2).map(b => Math.abs(i - b)));
const rows = Array.from({ length: 10_000 }, (_, i) => ({
  t: i * 4,
  slow: Math.round(90 * Math.sin(i / 31) + 60 * Math.sin(i / 7.3)),
  ecg: Math.round(1200 * Math.exp(-(spike(i) ** 2) / 8)),
}));
const clear = files.write(
  'clear.csv',
  `time_ms,A (uV),ECG (uV)\n${rows.map(r => `${r.t},${r.slow},${r.ecg}`).join('\n')}\n`,
);
const unclear = files.write(
  'unclear.csv',
  `,time_ms,A,B\n${rows.map((r, i) => `${i},${r.t},${r.slow},${r.ecg}`).join('\n')}\n`,
);

const list = (samples: readonly number[]) => `sample\n${samples.join('\n')}\n`;

describe('what was understood, doubtful and left out', () => {
  test('is reported on stderr and in the JSON of detect, with the lead and why', async () => {
    const { code, out, err } = await cli('detect', unclear, '--json');
    expect(code).toBe(0);
    const found = JSON.parse(out);
    expect(found.lead).toBe('B');
    expect(found.samples).toEqual(beats);
    expect(found.doubts).toEqual([
      expect.stringMatching(/^A does not say its unit/),
      expect.stringMatching(/^B does not say its unit/),
    ]);
    expect(found.understood).toContainEqual(expect.stringMatching(/^Of 2 leads, B is taken as the ECG: .*correlation/));
    expect(found.dropped).toEqual([]);
    for (const text of found.doubts) expect(err).toContain(`doubtful: ${text}`);
    for (const text of found.understood) expect(err).toContain(`understood: ${text}`);
  });

  test('ends --strict with 2 when anything was doubtful, and writes nothing', async () => {
    expect((await cli('detect', clear, '--strict')).code).toBe(0);
    expect(await cli('detect', unclear, '--strict')).toMatchObject({ code: 2, out: '' });
    expect((await cli('detect', unclear, '--strict', '--unit', 'uV')).code).toBe(0);
    const target = files.path('strict.edf');
    const ran = await cli('convert', unclear, target, '--strict');
    expect(ran.code).toBe(2);
    expect(ran.err).toMatch(/error: --strict: 2 doubts and 0 things left out/);
    expect(existsSync(target)).toBe(false);
  });

  test('a rate that is given stands against the time stamps, and that is reported', async () => {
    const { code, out } = await cli('detect', clear, '--rate', '500', '--json');
    expect(code).toBe(0);
    expect(JSON.parse(out)).toMatchObject({
      samplingRateHz: 500,
      doubts: [expect.stringMatching(/time stamps run at 250 Hz; read at 500 Hz as asked/)],
    });
  });

  test('a rate that is given is the one that is used, whatever the file states', async () => {
    const stated = files.write(
      'stated.csv',
      `# fs: 500\ntime_ms,ECG (uV)\n${rows.map(r => `${r.t},${r.ecg}`).join('\n')}\n`,
    );
    const doubts = async (...flags: string[]) =>
      JSON.parse((await cli('detect', stated, '--json', ...flags)).out).doubts;
    expect(await doubts()).toEqual(['The file says 500 Hz; the time stamps say 250 Hz, which is used.']);
    expect((await doubts('--rate', '125')).join()).not.toContain('250 Hz, which is used');
  });

  test('a unit of time that its name contradicts is reported, and goes by --time', async () => {
    const minutes = files.write(
      'minutes.csv',
      `time_min,ECG (uV)\n${rows.map(r => `${r.t / 1000},${r.ecg}`).join('\n')}\n`,
    );
    const run = async (...flags: string[]) => JSON.parse((await cli('detect', minutes, '--json', ...flags)).out);
    expect(await run()).toMatchObject({
      samplingRateHz: 250,
      doubts: [expect.stringMatching(/^"time_min" is read in seconds.*4\.167 Hz\.$/)],
    });
    expect(await run('--time', 's')).toMatchObject({ samplingRateHz: 250, samples: beats, doubts: [] });
    const refused = await cli('detect', minutes, '--time', 'iso');
    expect([refused.code, refused.err]).toEqual([
      2,
      expect.stringContaining('--time is one of s, ms, us, ns, min, h, d, day, day-1904'),
    ]);
    const bare = files.write('bare.csv', `ECG (uV)\n${rows.map(r => r.ecg).join('\n')}\n`);
    const none = await cli('detect', bare, '--time', 's', '--rate', '250');
    expect(none.err).toContain('bare.csv has no time column of numbers');
  });

  test('marks that lie on no beats name what would lay them there', async () => {
    const list = files.write('marks.csv', `sample\n${beats.map(b => 2 * b).join('\n')}\n`);
    const ran = await cli('convert', clear, files.path('out.zip'), '--detected', list, '--json');
    expect(ran.code).toBe(0);
    expect(JSON.parse(ran.out).doubts).toContainEqual(expect.stringMatching(/counted at 500 Hz, not 250 Hz/));
    expect(JSON.parse(ran.out).dropped).toEqual([expect.stringMatching(/marks outside the recording/)]);
  });

  test('goes with the bundle, and score, report, sample and check tell it and refuse it with --strict', async () => {
    const bundle = files.path('doubtful.zip');
    expect((await cli('convert', unclear, bundle)).code).toBe(0);
    const doubt = /unclear, when imported: A does not say its unit/;
    for (const [command, ...flags] of [
      ['score'],
      ['report', '--out', files.path('report')],
      ['sample', '--seed', '7'],
      ['check'],
    ] as const) {
      const told = await cli(command, bundle, ...flags, '--json');
      expect(told.code).toBe(0);
      expect(JSON.parse(told.out).doubts).toContainEqual(expect.stringMatching(doubt));
      expect(told.err).toMatch(doubt);
      expect(await cli(command, bundle, ...flags, '--strict')).toMatchObject({ code: 2, out: '' });
    }
    const sound = files.path('clear.zip');
    expect((await cli('convert', clear, sound, '--detected', files.write('sure.csv', list(beats)))).code).toBe(0);
    for (const command of ['score', 'check']) expect((await cli(command, sound, '--strict')).code).toBe(0);
  });

  test('repeated samples of a list are a doubt of score', async () => {
    const twice = files.write('twice.csv', list([...beats, beats[3]!]));
    const flags = ['--rate', '250', '--detected', twice, '--reviewed', files.write('r.csv', list(beats))];
    expect(JSON.parse((await cli('score', ...flags, '--json')).out).doubts).toEqual([
      'twice.csv: 1 repeated sample is counted once.',
    ]);
    expect((await cli('score', ...flags, '--strict')).code).toBe(2);
  });

  test('a bundle says which lead is under review and what it was made from', async () => {
    const bundle = files.path('origin.zip');
    await cli('convert', unclear, bundle);
    const { reviewed } = await readBundle(bytesSource('origin.zip', readFileSync(bundle)));
    const { ecgLead, origin, leads } = reviewed.session.recordings[0]!.recording;
    expect(leads[ecgLead!]!.name).toBe('B');
    const fileSha256 = createHash('sha256').update(readFileSync(unclear)).digest('hex');
    expect(origin).toMatchObject({ format: 'text', fileSha256, leftOut: [] });
    expect(origin!.doubts).toHaveLength(2);
  });
});

describe('lists', () => {
  const marks = files.write('marks.csv', list([100, 200, 300]));

  test('an empty file is no list of nothing: it is refused, and the header alone is taken', async () => {
    const empty = files.write('empty.csv', '');
    const none = files.write('none.csv', 'sample\n');
    const score = (detected: string) => cli('score', '--rate', '100', '--detected', detected, '--reviewed', marks);
    expect(await score(empty)).toMatchObject({ code: 2, out: '' });
    expect((await score(empty)).err).toContain('empty.csv (CSV), line 1: there is nothing in the file.');
    expect(await score(none)).toMatchObject({ code: 0 });
  });

  test('every segment that overlaps an earlier one is doubted, not only the neighbour', async () => {
    const segments = files.write('overlap.csv', 'name,start,end\na,0,300\nb,250,600\nc,10,20\n');
    const flags = ['--rate', '100', '--detected', marks, '--reviewed', marks, '--segments', segments, '--json'];
    const { doubts } = JSON.parse((await cli('score', ...flags)).out);
    expect(doubts.map((d: string) => d.slice(0, 22))).toEqual(['segments a and c overl', 'segments a and b overl']);
  });

  test('without a recording nothing is held against its end', async () => {
    const rr = files.write('rr.csv', 'rr_ms\n800\n820\n790\n');
    const { err } = await cli('convert', rr, files.path('rr-marks.csv'), '--marks', 'sample', '--rate', '250');
    expect(err).toContain('wrote rr-marks.csv');
    expect(err).not.toContain('recording, at');
  });
});
