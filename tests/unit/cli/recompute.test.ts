import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { csvParse } from 'd3-dsv';
import { afterAll, expect, test } from 'vitest';
import { defaultMatchSettings } from '../../../src/core/marks/match';
import { writeStudy } from '../../../src/formats/bundle/study';
import { studyPath } from '../core/report/sample-study';
import { cli, scratch } from './run';

const place = scratch();
afterAll(place.remove);

/** The indented lines of recompute.md that call the command line, as a shell would split them. */
function commandsOf(text: string): string[][] {
  const lines = [...text.matchAll(/^ {4}beat-ledger (.*)$/gm)].map(m => m[1]!);
  return lines.map(l => [...l.matchAll(/'([^']*)'|(\S+)/g)].map(m => m[1] ?? m[2]!));
}

function put(path: string, bytes: Uint8Array): void {
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(path, bytes);
}

interface Scored {
  readonly scores: readonly {
    readonly recorder: string;
    readonly segments: readonly ({ readonly name: string } & Record<string, unknown>)[];
  }[];
}

/** Columns of segments.csv, and what `score --json` calls them. */
const counts = {
  judged: 'judgedIntervals',
  right: 'rightIntervals',
  lost: 'lostIntervals',
  missed: 'missed',
  extra: 'extra',
};

test('the commands that a report names give its numbers again from the bundles', async () => {
  const few = ['V01', 'V06'];
  const plan = {
    id: 'two-volunteers',
    title: "Two volunteers' day",
    sessions: few.map(v => `${v}-study-2`),
    settings: defaultMatchSettings,
    namingPattern: '',
    segmentTemplate: [],
    protocol: '',
  };
  const folder = place.path('first');
  const bundle = await writeStudy(plan, id => readFileSync(studyPath(id.slice(0, 3))));
  put(join(folder, 'two-volunteers.zip'), bundle);
  for (const v of few) put(join(folder, `sessions/${v}-study-2.zip`), readFileSync(studyPath(v)));
  const made = await cli(
    'report',
    join(folder, 'two-volunteers.zip'),
    '--out',
    folder,
    '--draws',
    '200',
    '--seed',
    '3',
    '--second-detector',
  );
  expect(made).toMatchObject({ code: 0, err: '' });

  const text = readFileSync(join(folder, 'recompute.md'), 'utf8');
  const [report, ...scores] = commandsOf(text);
  const here = (word: string) => (/\.(zip|json)$|^again$/.test(word) ? join(folder, word) : word);
  expect(await cli(...report!.map(here))).toMatchObject({ code: 0, err: '' });
  for (const name of ['quality.csv', 'quality-tidy.csv', 'second-detector.csv', 'hrv.csv', 'report.html'])
    expect(readFileSync(join(folder, 'again', name), 'utf8')).toBe(readFileSync(join(folder, name), 'utf8'));

  // What the second detector is asked is of the same segments, and as reviewed has the same quality.
  const asked = csvParse(readFileSync(join(folder, 'second-detector.csv'), 'utf8'));
  expect(asked).toHaveLength(20);
  for (const row of asked) {
    expect(row['not_computable']).toBe('');
    expect(Number(row['quality_percent'])).toBeCloseTo((100 * Number(row['right'])) / Number(row['intervals']), 9);
    expect(Number(row['other_way_percent'])).toBeGreaterThan(80);
  }
  expect(asked.reduce((sum, row) => sum + Number(row['left_as_found']), 0)).toBeGreaterThan(0);
  expect(asked.reduce((sum, row) => sum + Number(row['changed']), 0)).toBeGreaterThan(100);

  expect(scores).toHaveLength(few.length);
  const segments = csvParse(readFileSync(join(folder, 'segments.csv'), 'utf8'));
  for (const [i, words] of scores.entries()) {
    const ran = await cli(...words.map(here));
    const { scores: recorded } = JSON.parse(ran.out) as Scored;
    const own = segments.filter(row => row['volunteer'] === few[i]);
    expect(own.length).toBeGreaterThan(5);
    for (const row of own) {
      const ofRecorder = recorded.find(r => r.recorder === row['recorder'])!;
      const segment = ofRecorder.segments.find(one => one.name === row['activity'])!;
      for (const [column, key] of Object.entries(counts)) expect(segment[key]).toBe(Number(row[column]));
    }
  }
});
