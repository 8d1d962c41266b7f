import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterAll, describe, expect, test } from 'vitest';
import { detectBeats } from '../../../src/core/detector/detect';
import { sessionScores } from '../../../src/core/report/session-scores';
import { span } from '../../../src/core/units';
import { readBundle } from '../../../src/formats/bundle/reader';
import { writeBundle } from '../../../src/formats/bundle/writer';
import { bytesSource } from '../../../src/formats/bytes/source';
import { lockBlocks } from '../../../src/formats/locked/locked';
import { rawBytes } from '../../../src/formats/raw/raw';
import { madeSession } from '../formats/bundle/reviewed';
import { cli, scratch } from './run';

const files = scratch();
afterAll(files.remove);

/** Two minutes of an invented ECG at 250 Hz, one sharp beat every 0.8 s on a slow wave. */
const rateHz = 250;
const beats = Array.from({ length: 149 }, (_, i) => 100 + 200 * i);
const words = Int16Array.from({ length: 120 * rateHz }, (_, i) => Math.round(20 * Math.sin(i / 90)) + 1024);
for (const b of beats) for (let k = -8; k <= 8; k++) words[b + k]! += Math.round(200 * Math.exp(-(k * k) / 8));
const bytes = new Uint8Array(words.buffer);
const rawFlags = ['--raw', 'int16', '--rate', String(rateHz), '--gain', '200', '--offset', '1024'];
const dat = files.write('ecg.dat', bytes);

async function run(...args: string[]) {
  const ran = await cli(...args);
  expect(ran, ran.err).toMatchObject({ code: 0 });
  return ran;
}

describe('detect', () => {
  test('finds the beats of raw words, gzip or not, as JSON and as a column that score reads', async () => {
    // source: the beats were put there
    const plain = JSON.parse((await run('detect', dat, ...rawFlags, '--json')).out);
    expect(plain).toMatchObject({ samplingRateHz: 250, lead: 'ECG', unsure: [] });
    expect(plain.samples).toEqual(beats);
    const { provenance: _, ...found } = plain;
    const zipped = files.write('ecg.dat.gz', gzipSync(bytes));
    expect(JSON.parse((await run('detect', zipped, ...rawFlags, '--json')).out)).toMatchObject(found);
    const column = files.write('found.csv', (await run('detect', dat, ...rawFlags)).out);
    const score = JSON.parse(
      (await run('score', '--rate', '250', '--detected', column, '--reviewed', column, '--json')).out,
    );
    expect(score.total).toMatchObject({ beats: 149, rightIntervals: 148, qualityPercent: 100 });
  });

  test('is the detector itself, at the rate of the lead and with the gaps in its samples', async () => {
    const made = madeSession(['R1']);
    const bundle = files.write('detect.zip', writeBundle(made.reviewed, made.leads));
    const args = ['--recording', 'adhesive-logger', '--lead', '3', '--json'];
    const found = JSON.parse((await run('detect', bundle, ...args)).out);
    const gaps = [span(0, 10), span(5985, 6000)];
    const { samples, unsure } = detectBeats(made.leads('adhesive-logger', 2), 100, { gaps });
    expect(found.samplingRateHz).toBe(100);
    expect(found.samples).toEqual([...samples]);
    expect(found.unsure).toEqual(unsure.map(u => [u.start, u.end]));
  });

  test('takes all leads together, interleaved raw ones too, or the one asked for', async () => {
    const flat = words.map((_, i) => (i < 7500 ? 40 : i % 7));
    const path = files.write('two.dat', rawBytes([flat, words], 'int16', true));
    const flags = ['--raw', 'int16', '--rate', '250', '--leads', 'II,V5', '--json'];
    const both = JSON.parse((await run('detect', path, ...flags)).out);
    expect(both.leads).toEqual(['V5', 'II']);
    expect(both.samples).toEqual([...detectBeats([words, flat], 250).samples]);
    expect(both.probability.length).toBe(both.samples.length);
    const one = JSON.parse((await run('detect', path, ...flags, '--lead', 'V5')).out);
    expect(one.leads).toEqual(['V5']);
    expect(one.samples).toEqual([...detectBeats(words, 250).samples]);
  });

  test('refuses what it cannot know', async () => {
    for (const [args, message] of [
      [['detect', dat], 'give --raw'],
      [['detect', dat, '--raw', 'int16'], '--raw needs --rate'],
      [['detect', dat, '--raw', 'int12', '--rate', '9'], '--raw is int16, int24'],
      [['detect', dat, ...rawFlags, '--lead', 'V9'], 'no lead V9; there are ECG'],
      [['detect', dat, '--raw', 'int16', '--rate', '20'], 'from 50 to 10000 Hz'],
    ] as const) {
      const ran = await cli(...args);
      expect(ran).toMatchObject({ code: 2, out: '' });
      expect(ran.err).toContain(message);
    }
  });
});

describe('texts that leave something to be said', () => {
  const table = (head: string, add = 0) => `${head}\n${Array.from(words, w => w + add).join('\n')}\n`;

  test('counts are read by gain and offset, and asked for them', async () => {
    // source: the beats were put there; the gain is the one they were made with
    const counts = files.write('counts.csv', table('ECG (counts)'));
    const refused = await cli('detect', counts, '--rate', '250');
    expect(refused.code).not.toBe(0);
    expect(refused.err).toMatch(/counts\.csv: ECG holds counts: give --gain and --offset/);
    const found = await run('detect', counts, '--rate', '250', '--gain', '200', '--offset', '1024', '--json');
    expect(JSON.parse(found.out).samples).toEqual(beats);
  });

  test('a torn line is a gap and is reported', async () => {
    const rows = table('ECG (uV)').split('\n');
    rows[5001] = '10#';
    const { out, err } = await run('detect', files.write('torn.csv', rows.join('\n')), '--rate', '250', '--json');
    expect(JSON.parse(out).samples).toEqual(beats);
    expect(err).toMatch(/1 line cannot be read: a gap of one sample stands for each/);
    expect(err).toMatch(/line 5002, column 1: "10#" is no number/);
  });

  test('prose is no signal', async () => {
    const notes = files.write('notes.txt', 'Notes of the day.\nThe hut was reached at noon.\n');
    expect((await cli('detect', notes)).err).toMatch(/notes\.txt .*there is no signal in it/);
  });

  test('labelled marks with a decimal comma are converted, and not taken for samples', async () => {
    const peaks = files.write('peaks.csv', beats.map(b => `${(b / 250).toFixed(3).replace('.', ',')};N\n`).join(''));
    const given = ['--rate', '250', '--detected', peaks, '--reviewed', peaks];
    expect((await cli('score', ...given)).err).toMatch(/peaks\.csv .*there are 2 columns and no header\./);
    const samples = files.path('of-peaks.csv');
    await run('convert', peaks, samples, '--rate', '250');
    expect(readFileSync(samples, 'utf8').trim().split('\n').slice(1).map(Number)).toEqual(beats);
  });
});

describe('convert', () => {
  test('raw -> EDF+ -> text -> raw keeps every word', async () => {
    const [edf, csv, raw] = ['a.edf', 'a.csv', 'a.bin'].map(files.path) as [string, string, string];
    await run('convert', dat, edf, ...rawFlags);
    await run('convert', edf, csv);
    expect(readFileSync(csv, 'utf8').split('\n').slice(0, 2)).toEqual(['# sampling rate: 250 Hz', 'time_s,ECG (mV)']);
    const { err } = await run('convert', csv, raw);
    const words16 = new Int16Array(new Uint8Array(readFileSync(raw)).buffer);
    const perMv = Number(/([\d.]+) words per mV/.exec(err)![1]);
    expect(Array.from(words16, w => Math.round((w / perMv) * 200 + 1024))).toEqual(Array.from(words));
  });

  test('raw -> bundle puts in marks of the detector or of a list, and segments', async () => {
    const detected = files.write('given.csv', `sample\n${beats.slice(1).join('\n')}\n`);
    const segments = files.write('segments.csv', 'name,start_s,end_s\nrest,0,60\nrun,60,120\n');
    const [own, listed] = [files.path('own.zip'), files.path('listed.zip')];
    const { err } = await run('convert', dat, own, ...rawFlags, '--participant', 'V01');
    expect(err).toContain('149 are from the built-in detector 11');
    await run('convert', dat, listed, ...rawFlags, '--detected', detected, '--segments', segments);
    const open = async (path: string) =>
      (await readBundle(bytesSource(path, new Uint8Array(readFileSync(path))))).reviewed.session;
    expect((await open(own)).participant).toBe('V01');
    expect(Array.from((await open(own)).recordings[0]!.detected)).toEqual(beats);
    const item = (await open(listed)).recordings[0]!;
    expect(Array.from(item.detected)).toEqual(beats.slice(1));
    expect(item.segments.map(s => [s.name, s.start, s.end])).toEqual([
      ['rest', 0, 15_000],
      ['run', 15_000, 30_000],
    ]);
    expect((await run('check', listed)).out).toMatch(/^Sound: ecg, 1 recording, logs: none/);
  });

  test('a bundle gives out words, detected marks and the reviewed marks of one rater', async () => {
    const made = madeSession(['R1', 'R2']);
    const bundle = files.write('session.zip', writeBundle(made.reviewed, made.leads));
    const [raw, marks, rr, edf] = ['w.raw', 'm.csv', 'rr.csv', 'r.edf'].map(files.path) as [
      string,
      string,
      string,
      string,
    ];
    await run('convert', bundle, raw, '--recording', 'chest-band');
    const back = new Int16Array(new Uint8Array(readFileSync(raw)).buffer);
    expect(back).toEqual(made.leads('chest-band', 0));
    await run('convert', bundle, marks, '--marks', 'sample', '--rater', 'R2');
    const reviewed = sessionScores(made.reviewed, 'R2')[0]!.review.marks;
    expect(readFileSync(marks, 'utf8')).toBe(`sample\n${reviewed.join('\n')}\n`);
    await run('convert', bundle, rr, '--marks', 'rr-ms');
    expect(readFileSync(rr, 'utf8').split('\n').slice(0, 3)).toEqual(['rr_ms', '1000.000', '1000.000']);
    await run('convert', bundle, edf, '--rater', 'R2');
    const again = files.path('again.csv');
    await run('convert', edf, again, '--marks', 'sample');
    expect(readFileSync(again, 'utf8')).toBe(readFileSync(marks, 'utf8'));
    const refused = await cli('convert', bundle, files.path('x.csv'), '--recording', 'adhesive-logger');
    expect(refused).toMatchObject({ code: 2, err: 'error: leads have different rates: choose one with --lead\n' });
  });

  test('lists of marks change their form', async () => {
    const times = files.write('times.csv', 'time_s\n0.500000\n1.300000\n2.100000\n');
    const out = files.path('samples.csv');
    await run('convert', times, out, '--rate', '250');
    expect(readFileSync(out, 'utf8')).toBe('sample\n125\n325\n525\n');
  });

  test('refuses to write over a file, and endings it does not know', async () => {
    const there = files.write('there.edf', 'x');
    const over = await cli('convert', dat, there, ...rawFlags);
    expect(over).toMatchObject({ code: 2, err: expect.stringContaining('is there already: give --force') });
    await run('convert', dat, there, ...rawFlags, '--force');
    const odd = await cli('convert', dat, 'x.mp3', ...rawFlags);
    expect(odd.err).toContain('OUT ends in .edf, .ecg, .csv');
  });
});

describe('check and help', () => {
  test('a changed word is found with exit code 1', async () => {
    const made = madeSession(['R1']);
    const sound = writeBundle(made.reviewed, made.leads, { level: 0 });
    const at = Buffer.from(sound).indexOf('1-lead-I.i16') + 400;
    const changed = sound.slice();
    changed[at] = changed[at]! ^ 1;
    const path = files.write('changed.zip', changed);
    const found = await cli('check', path);
    expect(found.code).toBe(1);
    expect(found.out).toContain('1-lead-I.i16: the signal was changed: its checksum differs');
    expect(JSON.parse((await cli('check', path, '--json')).out)).toMatchObject({ sound: false, damagedLogs: [] });
    const whole = JSON.parse((await cli('check', files.write('sound.zip', sound), '--json')).out);
    expect(whole).toMatchObject({ sound: true, problems: [], logs: [{ rater: 'R1', entries: 6 }] });
  });

  test('a locked file is said to be locked, in JSON where that was asked for', async () => {
    const parts: Uint8Array[] = [];
    for await (const part of lockBlocks([new Uint8Array(100)], 'rope and tent')) parts.push(part.slice());
    const path = files.write('kept.zip.locked', Buffer.concat(parts));
    const said = 'kept.zip.locked is locked with a passphrase: open it in the page, and check the bundle inside.';
    expect(await cli('check', path)).toMatchObject({ code: 1, out: `${said}\n` });
    const json = await cli('check', path, '--json');
    expect(json.code).toBe(1);
    expect(JSON.parse(json.out)).toEqual({ sound: false, locked: true, problems: [said] });
  });

  test('every command of the overview has help with examples', async () => {
    const overview = await run('--help');
    const names = [...overview.out.matchAll(/^ {2}(\S+) {2,}/gm)].map(m => m[1]!);
    expect(names).toContain('score');
    for (const name of names) {
      const { out } = await run(name, '--help');
      expect(out).toContain(`beat-ledger ${name} `.trimEnd());
      expect(out).toContain('--help');
    }
    expect((await cli()).code).toBe(2);
  });
});

const openData = join(import.meta.dirname, '../../../../shared/open-data');
const isAbsent = !existsSync(openData);
test.skipIf(isAbsent)(
  `detect on an open recording${isAbsent ? ' (not run: open recordings absent)' : ''}`,
  async () => {
    // source: beats of record 100 by the experts of the MIT-BIH Arrhythmia Database; an easy record, so nearly all are found
    const about = JSON.parse(readFileSync(join(openData, '100.json'), 'utf8'));
    const flags = ['--raw', 'int16', '--rate', '360', '--gain', '200', '--offset', '1024'];
    const detected = files.write('100.csv', (await run('detect', join(openData, '100.i16.gz'), ...flags)).out);
    const reviewed = files.write('100-beats.csv', `sample\n${about.beats.join('\n')}\n`);
    const args = ['--rate', '360', '--detected', detected, '--reviewed', reviewed, '--tolerance-ms', '150', '--json'];
    const { total } = JSON.parse((await run('score', ...args)).out);
    expect(total.beats).toBe(2273);
    expect(total.sensitivity).toBeGreaterThan(0.99);
    expect(total.ppv).toBeGreaterThan(0.99);
  },
);
