import { chmodSync, lstatSync, mkdirSync, readdirSync, readFileSync, statSync, symlinkSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { problemOf } from '../../../src/cli/problem';
import { writeWhole } from '../../../src/cli/whole';
import { cli, scratch } from './run';

let place: ReturnType<typeof scratch>;
beforeEach(() => {
  place = scratch();
});
afterEach(() => place.remove());

const all = () => readdirSync(place.path('.'), { recursive: true }).sort();

test('all files are there, with their folders and nothing else', () => {
  writeWhole(
    [
      { path: place.path('out/a.csv'), content: 'a' },
      { path: place.path('out/figures/b.svg'), content: new Uint8Array([98]) },
    ],
    false,
  );
  expect(all()).toEqual(['out', 'out/a.csv', 'out/figures', 'out/figures/b.svg']);
  expect(readFileSync(place.path('out/figures/b.svg'), 'utf8')).toBe('b');
});

test('where one cannot be written none is, and what was there stays', () => {
  place.write('file', 'kept');
  const files = [
    { path: place.path('out/a.csv'), content: 'a' },
    { path: place.path('file/b.csv'), content: 'b' },
  ];
  expect(() => writeWhole(files, true)).toThrow();
  expect(all()).toEqual(['file']);
  mkdirSync(place.path('taken.csv'));
  expect(() => writeWhole([{ path: place.path('taken.csv'), content: 'a' }], true)).toThrow();
  expect(all()).toEqual(['file', 'taken.csv']);
});

test('a folder in place of the last file leaves the first as it was', () => {
  place.write('a.csv', 'kept');
  mkdirSync(place.path('b.csv'));
  const files = ['a.csv', 'b.csv'].map(name => ({ path: place.path(name), content: 'new' }));
  expect(() => writeWhole(files, true)).toThrow('b.csv is there already and is no file: choose another name');
  expect(readFileSync(place.path('a.csv'), 'utf8')).toBe('kept');
  expect(all()).toEqual(['a.csv', 'b.csv']);
});

test('what is written over stays behind its link, and as private as it was', () => {
  const real = place.write('real.csv', 'old');
  chmodSync(real, 0o600);
  symlinkSync(real, place.path('link.csv'));
  writeWhole([{ path: place.path('link.csv'), content: 'new' }], true);
  expect(readFileSync(real, 'utf8')).toBe('new');
  expect(statSync(real).mode & 0o777).toBe(0o600);
  expect(lstatSync(place.path('link.csv')).isSymbolicLink()).toBe(true);
  expect(all()).toEqual(['link.csv', 'real.csv']);
});

test('a table is not written where what belongs beside it is there already', async () => {
  const marks = place.write('marks.csv', 'sample\n100\n460\n');
  place.write('out.csv-metadata.json', 'kept');
  const { code, err } = await cli('convert', marks, place.path('out.csv'), '--marks', 's', '--rate', '360');
  expect(code).toBe(2);
  expect(err).toContain('out.csv-metadata.json is there already');
  expect(all()).toEqual(['marks.csv', 'out.csv-metadata.json']);
});

test.each([
  ['EACCES', 'no permission for /there/x: choose another place, or ask whoever owns it'],
  ['ENOSPC', 'the disk is full: /there/x was not written. Make room, then run this again'],
  ['EIO', 'as the system says it'],
])('what the system refuses is said in words: %s', (code, words) => {
  expect(problemOf(Object.assign(new Error('as the system says it'), { code, path: '/there/x' }))).toBe(words);
});

test('of a file that is no JSON nothing is printed to the terminal', async () => {
  const junk = place.write('junk.json', new Uint8Array([0x1b, 0x5b, 0x32, 0x4a, 0x00, 0x07, 0xff]));
  const { code, err } = await cli('sample-interval', junk);
  expect({ code, err }).toEqual({
    code: 2,
    err: `error: ${junk} is not JSON (it begins otherwise): choose another file\n`,
  });
});

test.each([
  [['detect', '.'], 'is a folder'],
  [['audit', join(import.meta.dirname, 'run.ts')], "is a file: give the folder of a study's store"],
  [['report', '--foo'], 'report --help lists its flags'],
])('%j says what to give instead', async (args, words) => {
  const { code, err } = await cli(...args);
  expect(code).toBe(2);
  expect(err).toContain(words);
});
