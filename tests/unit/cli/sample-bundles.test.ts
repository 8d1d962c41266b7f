import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { csvParse } from 'd3-dsv';
import { describe, expect, test } from 'vitest';
import { readBundle } from '../../../src/formats/bundle/reader';
import { writeBundle } from '../../../src/formats/bundle/writer';
import { memorySink } from '../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../src/formats/bytes/source';
import { resultsCsv } from '../../../src/formats/csv/results';
import { cli } from './run';

const folder = join(import.meta.dirname, '../../../sample-sessions');
const bundles = ['sessions', 'study'].flatMap(part =>
  readdirSync(join(folder, part))
    .filter(name => name.endsWith('.zip'))
    .map(name => join(part, name)),
);

/** Read once for all tests of it: its log's chain of hashes is verified each time. */
const known = new Map<string, ReturnType<typeof open>>();
function opened(path: string) {
  const found = known.get(path) ?? open(path);
  known.set(path, found);
  return found;
}

async function open(path: string) {
  const bytes = new Uint8Array(readFileSync(join(folder, path)));
  return { bytes, ...(await readBundle(bytesSource('x', bytes))) };
}

type JsonRow = Record<string, unknown>;
interface JsonScore {
  rater: string;
  recording: string;
  segments: JsonRow[];
  total: JsonRow;
}

describe('each sample session', () => {
  test('is there', () => expect(bundles.length).toBeGreaterThanOrEqual(4));

  test.each(bundles)('%s: opens under a meaningless name, and is the same bytes when written again', async path => {
    const { bytes, warnings, reviewed, readRecording } = await opened(path);
    expect(warnings).toEqual([]);
    const sinks = new Map<string, ReturnType<typeof memorySink>>();
    for (const { recording } of reviewed.session.recordings) {
      sinks.set(recording.id, memorySink());
      await readRecording(recording.id, sinks.get(recording.id)!);
    }
    const again = writeBundle(reviewed, (id, i) => sinks.get(id)!.lead(i));
    expect(Buffer.compare(again, bytes)).toBe(0);
  });

  test.each(bundles)('%s: the command line and the results table give the same numbers', async path => {
    const { reviewed } = await opened(path);
    const raters = reviewed.logs.map(log => log.header.rater);
    const rows = csvParse(resultsCsv([{ reviewed, raters }]));
    const ran = await cli('score', join(folder, path), '--json');
    expect(ran).toMatchObject({ code: 0, err: '' });
    const { scores } = JSON.parse(ran.out) as { scores: JsonScore[] };
    expect(scores).toHaveLength(raters.length * reviewed.session.recordings.length);
    const flat = scores.flatMap((s): JsonRow[] =>
      [...s.segments, s.total].map(r => ({ rater: s.rater, recording: s.recording, ...r })),
    );
    expect(rows).toHaveLength(flat.length);
    for (const [i, row] of rows.entries()) {
      const { rater, recording, name } = flat[i]!;
      expect([row['rater'], row['recording'], row['segment']]).toEqual([rater, recording, name]);
      const numbers = (keys: string[]) => keys.map(k => flat[i]![k] ?? '').map(String);
      expect([
        row['missed'],
        row['wrong_peak'],
        row['extra'],
        row['lost_intervals'],
        row['quality_percent'],
        row['f1'],
      ]).toEqual(numbers(['missed', 'wrongPeak', 'extra', 'lostIntervals', 'qualityPercent', 'f1']));
    }
  });
});
