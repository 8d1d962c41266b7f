import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { replay, sha256Hex } from '../../../src/core/marks/log';
import { detectedOf } from '../../../src/core/review/session';
import { scoreRecording } from '../../../src/core/score/score';
import { readBundle } from '../../../src/formats/bundle/reader';
import { memorySink } from '../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../src/formats/bytes/source';
import { readEdf } from '../../../src/formats/edf/reader';
import { sessionFile, truthFile } from '../../../src/samples/files';
import { trainingDay } from '../../../src/samples/training-day';

const folder = join(import.meta.dirname, '../../../sample-sessions');
const bytesOf = (path: string) => new Uint8Array(readFileSync(join(folder, path)));
const listed = new Map(
  readFileSync(join(folder, 'checksums.txt'), 'utf8')
    .trimEnd()
    .split('\n')
    .map(line => [line.slice(66), line.slice(0, 64)] as const),
);

interface Truth {
  readonly clocks: { from: string; to: string; offsetSeconds: number; driftPpm: number };
  readonly recordings: readonly {
    readonly id: string;
    readonly samplingRateHz: number;
    readonly beats: readonly number[];
    readonly planted: readonly { kind: string; beat: number | null; mark: number | null }[];
  }[];
}

const truthOf = (volunteer: string): Truth => JSON.parse(readFileSync(join(folder, `truth/${volunteer}.json`), 'utf8'));

test('the folder holds exactly the listed files, with the listed bytes', () => {
  const found = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter(f =>
    statSync(join(folder, f)).isFile(),
  );
  expect(found.sort()).toEqual([...listed.keys(), 'README.md', 'checksums.txt'].sort());
  for (const [path, sum] of listed) expect(sha256Hex(bytesOf(path)), path).toBe(sum);
});

test('one session and its truth are generated anew with the same bytes', () => {
  const day = trainingDay('V02');
  for (const [path, bytes] of [sessionFile(day), truthFile(day)]) expect(sha256Hex(bytes), path).toBe(listed.get(path));
});

/** One line a file: title; recordings with rate and leads; raters with the number of their entries and whether finished. */
async function golden(path: string): Promise<string> {
  const { reviewed, damaged } = await readBundle(bytesSource('a file', bytesOf(path)));
  expect(damaged).toEqual([]);
  const { session, logs } = reviewed;
  const recordings = session.recordings.map(
    r => `${r.recording.recorder} ${r.recording.leads.length}x${r.recording.samplingRateHz} ${r.segments.length}`,
  );
  const raters = logs.map(
    l => `${l.header.rater} ${l.entries.length}${replay(l, detectedOf(session)).finished ? ' finished' : ''}`,
  );
  return [session.title, ...recordings, ...raters].join('; ');
}

const both = 'chest band 1x130 5; adhesive logger 3x250 5';

test.each([
  ['sessions/V01.zip', `V01, training day; ${both}`],
  ['sessions/V02.zip', `V02, training day; ${both}; R1 95`],
  ['sessions/V03.zip', `V03, training day; ${both}`],
  ['sessions/V04.zip', `V04, training day; ${both}`],
  ['study/V01.zip', `V01, demo study; ${both}; R1 514 finished`],
  ['study/V02.zip', `V02, demo study; ${both}; R1 585 finished`],
  ['study/V03.zip', `V03, demo study; ${both}; R1 543 finished; R2 535 finished`],
  ['study/V04.zip', `V04, demo study; ${both}; R1 518 finished`],
  ['study/V05.zip', `V05, demo study; ${both}; R1 584 finished`],
  ['study/V06.zip', `V06, demo study; ${both}; R1 557 finished; R2 559 finished`],
  ['study/V07.zip', `V07, demo study; ${both}; R1 576 finished`],
  ['study/V08.zip', `V08, demo study; ${both}; R1 563 finished`],
])('%s opens by its contents', async (path, line) => {
  expect(await golden(path)).toBe(line);
});

describe.each(['V01', 'V02', 'V03', 'V04', 'V05', 'V06', 'V07', 'V08'])('demo study, %s', volunteer => {
  test("R1's review gives the planted numbers in every segment", async () => {
    const { reviewed } = await readBundle(bytesSource('study', bytesOf(`study/${volunteer}.zip`)));
    const review = replay(reviewed.logs[0]!, detectedOf(reviewed.session));
    for (const { recording, detected, segments } of reviewed.session.recordings) {
      const { marks, unreadable } = review.recordings.get(recording.id)!;
      const scored = scoreRecording({
        beats: marks,
        marks: detected,
        unreadable,
        gaps: recording.gaps,
        segments,
        samplingRateHz: recording.samplingRateHz,
        settings: reviewed.session.settings,
      });
      const { planted } = truthOf(volunteer).recordings.find(r => r.id === recording.id)!;
      for (const { segment, counts } of scored.segments) {
        const inside = planted.filter(p => {
          const at = p.beat ?? p.mark!;
          return at >= segment.start && at < segment.end;
        });
        const count = (...kinds: string[]) => inside.filter(p => kinds.includes(p.kind)).length;
        const { missed, wrongPeak, extra } = counts;
        const expected = [count('missed'), count('wrongPeak', 'shifted'), count('extra')];
        expect([missed, wrongPeak, extra], `${recording.id}, ${segment.name}`).toEqual(expected);
      }
    }
  });

  test('the stated clocks lay both recorders over each other to the sample', () => {
    const { clocks, recordings } = truthOf(volunteer);
    const [from, to] = recordings as [Truth['recordings'][number], Truth['recordings'][number]];
    const onTo = from.beats.map(b => clocks.offsetSeconds + (1 + clocks.driftPpm / 1e6) * (b / from.samplingRateHz));
    const seen = to.beats.map(b => b / to.samplingRateHz);
    let k = 0;
    let far = 0;
    for (const t of onTo) {
      if (t < seen[0]! - 0.2 || t > seen.at(-1)! + 0.2) continue;
      while (k + 1 < seen.length && Math.abs(seen[k + 1]! - t) <= Math.abs(seen[k]! - t)) k++;
      // Half a sample on each side, and the apex differs a little between lead directions.
      if (Math.abs(seen[k]! - t) > 0.015) far++;
    }
    expect(far).toBe(0);
  });
});

describe('plain files', () => {
  test('the EDF+ minute holds the signal and the marks of the session', async () => {
    const sink = memorySink();
    const opened = await readEdf(bytesSource('x', bytesOf('files/logger-minute.edf')), {}, sink);
    expect(opened.recording.leads.map(l => l.name)).toEqual(['A', 'B', 'C']);
    expect(opened.recording.sampleCount).toBe(15_000);
    const day = trainingDay('V01').recordings[1]!;
    const start = day.session.segments[2]!.end - 25 * 250;
    const marks = [...day.session.detected].filter(m => m >= start && m < start + 15_000).map(m => m - start);
    expect([...opened.marks!]).toEqual(marks);
    const words = sink.lead(0);
    const lead = opened.recording.leads[0]!;
    for (let i = 0; i < 15_000; i += 7) {
      const mv = (words[i]! - lead.offset) * lead.mvPerUnit;
      expect(Math.abs(mv - day.leads[0]![start + i]! * 0.005)).toBeLessThan(1e-6);
    }
  });

  test('the text files are one minute of the chest band, and its RR list adds up', () => {
    const rows = (name: string) =>
      readFileSync(join(folder, 'files', name), 'utf8')
        .trimEnd()
        .split('\n');
    expect(rows('chest-minute.csv').length).toBe(60 * 130 + 1);
    const marks = rows('chest-minute-marks.csv').slice(1).map(Number);
    const rr = rows('chest-minute-rr.txt').slice(2).map(Number);
    expect(rr.length).toBe(marks.length - 1);
    const sum = rr.reduce((a, b) => a + b, 0);
    expect(Math.abs(sum - ((marks.at(-1)! - marks[0]!) * 1000) / 130)).toBeLessThan(0.5 * rr.length);
    expect(rows('chest-minute-segments.csv').map(r => r.split(',')[0])).toEqual([
      'name',
      'approach hike',
      'uphill run',
    ]);
  });
});
