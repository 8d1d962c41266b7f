import { existsSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { defaultMatchSettings } from '../../../src/core/marks/match';
import { writeStudy } from '../../../src/formats/bundle/study';
import { studyPath } from '../core/report/sample-study';
import { cli, scratch } from './run';

const place = scratch();
const few = ['V01', 'V04', 'V06'];
let study: string;

beforeAll(async () => {
  const plan = {
    id: 'three',
    title: 'Three volunteers',
    sessions: few.map(v => `${v}-study-2`),
    settings: defaultMatchSettings,
    namingPattern: '',
    segmentTemplate: ['sled haul', 'uphill run'],
    protocol: 'Mark each beat.',
  };
  study = place.write('study.zip', await writeStudy(plan, id => readFileSync(studyPath(id.slice(0, 3)))));
});
afterAll(place.remove);

function filesUnder(folder: string): Map<string, string> {
  const found = new Map<string, string>();
  const occurrences = (path: string) => {
    for (const name of readdirSync(path)) {
      const file = join(path, name);
      if (statSync(file).isDirectory()) occurrences(file);
      else found.set(relative(folder, file), readFileSync(file, 'utf8'));
    }
  };
  occurrences(folder);
  return found;
}

test('a second run, and one like the first report, write the same bytes', async () => {
  const first = await cli('report', study, '--out', place.path('a'), '--draws', '200', '--seed', '7');
  expect(first).toMatchObject({ code: 0, err: '' });
  expect(first.out).toContain('3 volunteers, 30 segments');
  await cli('report', study, '--out', place.path('b'), '--draws', '200', '--seed', '7');
  await cli('report', study, '--out', place.path('c'), '--like', join(place.path('a'), 'report.json'));
  const a = filesUnder(place.path('a'));
  expect(a.size).toBeGreaterThan(30);
  for (const other of ['b', 'c']) {
    const files = filesUnder(place.path(other));
    expect([...files.keys()].sort()).toEqual([...a.keys()].sort());
    for (const [path, text] of files) expect(text === a.get(path), path).toBe(true);
  }
  const json = JSON.parse(a.get('report.json')!) as {
    settings: { statistics: { bootstrap: { seed: number } } };
    activities: string[];
  };
  expect(json.settings.statistics.bootstrap.seed).toBe(7);
  expect(json.activities.slice(0, 2)).toEqual(['sled haul', 'uphill run']);
  expect(a.get('report.html')).toContain('Mark each beat.');
});

test('session bundles give the numbers that the study gives', async () => {
  await cli('report', ...few.map(studyPath), '--out', place.path('d'), '--draws', '200', '--seed', '7');
  const sorted = (folder: string) =>
    readFileSync(join(place.path(folder), 'quality.csv'), 'utf8')
      .split('\r\n')
      .sort();
  expect(sorted('d')).toEqual(sorted('a'));
});

test('refuses what it cannot use, in one line', async () => {
  const out = place.path('e');
  expect(await cli('report', study)).toMatchObject({ code: 2, err: 'error: report needs --out DIR\n' });
  expect((await cli('report', '--out', out)).err).toContain('needs a study bundle or session bundles');
  expect((await cli('report', studyPath('V01'), studyPath('V01'), '--out', out)).err).toContain('given twice');
  expect((await cli('report', study, '--out', out, '--draws', '7')).err).toContain('at least 100');
  expect((await cli('report', study, '--out', out, '--like', study)).err).toContain('is not JSON');
  const made = JSON.parse(readFileSync(join(place.path('a'), 'report.json'), 'utf8')) as { settings: object };
  const older = { ...made, settings: { ...made.settings, secondDetector: 'an older detector' } };
  const like = place.write('older.json', new TextEncoder().encode(JSON.stringify(older)));
  const asked = await cli('report', study, '--out', out, '--like', like, '--strict');
  expect(asked).toMatchObject({ code: 2, out: '' });
  expect(asked.err).toContain('The earlier report used an older detector; this one uses the ');
});

test('a session that is given twice is refused with both files and what their logs hold', async () => {
  const copy = place.write('copy.zip', readFileSync(studyPath('V04')));
  const { code, err } = await cli('report', studyPath('V04'), copy, '--out', place.path('twice'));
  expect(code).toBe(2);
  expect(err).toContain(`V04-study-2 is given twice, in ${studyPath('V04')} (R1 with 518 entries) and in ${copy} (R1`);
  expect(existsSync(place.path('twice'))).toBe(false);
});

test('figures of an earlier report do not stay beside those of a smaller one', async () => {
  const out = place.path('smaller');
  await cli('report', study, '--out', out, '--draws', '100');
  const mine = join(out, 'figures', 'mine.svg');
  writeFileSync(mine, '<svg/>');
  const before = readdirSync(join(out, 'figures')).length;
  const { out: said } = await cli('report', studyPath('V04'), '--out', out, '--draws', '100');
  expect(said).toContain('1 volunteer, 10 segments');
  await cli('report', studyPath('V04'), '--out', place.path('fresh'), '--draws', '100');
  const fresh = readdirSync(join(place.path('fresh'), 'figures'));
  expect(fresh.length).toBeLessThan(before - 1);
  expect(readdirSync(join(out, 'figures')).sort()).toEqual([...fresh, 'mine.svg'].sort());
});

test("a person's own figure, or one changed by hand, is named and left where it is", async () => {
  const out = place.path('mixed');
  const figures = join(out, 'figures');
  await cli('report', study, '--out', out, '--draws', '100');
  await cli('report', studyPath('V04'), '--out', place.path('alone'), '--draws', '100');
  const fresh = readdirSync(join(place.path('alone'), 'figures'));
  const changed = readdirSync(figures).find(name => !fresh.includes(name))!;
  writeFileSync(join(figures, 'figure-for-the-paper.svg'), '<svg/>');
  writeFileSync(join(figures, changed), 'changed by hand');
  const { err } = await cli('report', studyPath('V04'), '--out', out, '--draws', '100');
  expect(readdirSync(figures).sort()).toEqual([...fresh, 'figure-for-the-paper.svg', changed].sort());
  expect(readFileSync(join(figures, changed), 'utf8')).toBe('changed by hand');
  for (const name of ['figure-for-the-paper.svg', changed])
    expect(err).toContain(`${join(figures, name)} is not of this report and was left as it is`);
});

test('an --out that is a file is refused, and stays as it is', async () => {
  const file = place.write('afile', 'kept');
  const { code, err } = await cli('report', studyPath('V04'), '--out', file, '--draws', '100');
  expect({ code, err }).toEqual({ code: 2, err: `error: ${file} is there already, as a file: choose another name\n` });
  expect(readFileSync(file, 'utf8')).toBe('kept');
});
