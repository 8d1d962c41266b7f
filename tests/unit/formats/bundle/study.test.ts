import { unzipSync, zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import type { Study } from '../../../../src/core/review/study/study';
import { checkStudy } from '../../../../src/formats/bundle/check';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { isStudyBundle, readStudy, writeStudy } from '../../../../src/formats/bundle/study';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { type ByteSource, bytesSource } from '../../../../src/formats/bytes/source';
import { madeSession } from './reviewed';

const study: Study = {
  id: 'mountain-rescue',
  title: 'Mountain rescue, training day',
  sessions: ['V02', 'V01'],
  settings: defaultMatchSettings,
  namingPattern: '{participant}_{recorder}\n{date}-{participant}',
  namedFiles: { 'day/odd.csv': { participant: 'V01', recorder: 'chest band', activity: null, date: '2026-09-12' } },
  segmentTemplate: ['seated radio watch', 'uphill run'],
  protocol: 'Mark each beat on its R peak.\nTake a break every 30 minutes.',
};

const made = madeSession(['R1'], 30);
const sessionOf = (id: string) => ({ ...made.reviewed.session, id });
const bundleOf = (id: string) => writeBundle({ session: sessionOf(id), logs: [] }, made.leads);
const source = (bytes: Uint8Array) => bytesSource('study.zip', bytes);

describe('a study bundle', () => {
  // source: ECMA-262, Number::toString: the shortest digits that give the same number back
  test('carries clocks and times of activities to the last bit, and opens without', async () => {
    const clocks = {
      V01: { 'adhesive-logger': { offsetSeconds: -9.577373503 / 3, driftPpm: 74.00259 / 3, from: 'by hand' } },
      V02: { 'adhesive-logger': { offsetSeconds: 0.1 + 0.2, driftPpm: -1e-7, from: 'matched beats' } },
    };
    const timed: Study = {
      ...study,
      segmentSeconds: { 'uphill run': [0.1 + 0.2, 900] },
      countedRater: 'R2',
      requiredPractice: { passPercent: 70, difficulty: 3 },
    };
    const bytes = await writeStudy(timed, bundleOf, { ...clocks, elsewhere: clocks.V01 });
    const opened = await readStudy(source(bytes));
    expect(opened.clocks).toEqual(clocks);
    expect(opened.study).toEqual(timed);
    expect((await readStudy(source(await writeStudy(study, bundleOf)))).clocks).toEqual({});
    const entries = unzipSync(bytes);
    const first = JSON.parse(new TextDecoder().decode(entries['study.json'])) as Record<string, unknown>;
    const { clocks: _, ...plain } = first;
    const older = { ...plain, formatVersion: 1 };
    const again = zipSync({ ...entries, 'study.json': new TextEncoder().encode(JSON.stringify(older)) }, { level: 0 });
    expect((await readStudy(source(again))).study).toEqual(timed);
  });

  test('gives back the study and its sessions, in order, and is the same bytes when written again', async () => {
    const bytes = await writeStudy(study, bundleOf);
    const opened = await readStudy(source(bytes));
    expect(opened.study).toEqual(study);
    expect(opened.warnings).toEqual([]);
    const sessions = await Promise.all(opened.sessions.map(async s => (await readBundle(s.source)).reviewed.session));
    expect(sessions).toEqual([sessionOf('V02'), sessionOf('V01')]);
    const copies = new Map<string, Uint8Array>();
    for (const s of opened.sessions) copies.set(s.id, await s.source.read(0, s.source.size));
    expect(Buffer.compare(await writeStudy(opened.study, id => copies.get(id)!), bytes)).toBe(0);
    expect(await Promise.all(opened.sessions.map(s => s.isUnchanged()))).toEqual([true, true]);
  });

  test('opening it reads the lists, not the sessions', async () => {
    const bytes = await writeStudy(study, bundleOf);
    let read = 0;
    const counted: ByteSource = {
      ...source(bytes),
      read: async (start, end) => {
        read += Math.min(end, bytes.length) - start;
        return bytes.subarray(start, Math.min(end, bytes.length));
      },
    };
    await readStudy(counted);
    const tail = 65_535 + 22;
    expect(read).toBeLessThan(tail + 6000);
  });

  test('opens when another program has compressed it again', async () => {
    const again = zipSync(unzipSync(await writeStudy(study, bundleOf)), { level: 6 });
    const opened = await readStudy(source(again));
    expect((await readBundle(opened.sessions[1]!.source)).reviewed.session).toEqual(sessionOf('V01'));
  });

  test('is not taken for a session bundle', async () => {
    expect(await isStudyBundle(source(await writeStudy(study, bundleOf)))).toBe(true);
    expect(await isStudyBundle(source(bundleOf('V01')))).toBe(false);
    await expect(readStudy(source(bundleOf('V01')))).rejects.toThrow('there is no study.json');
  });

  test('a missing, changed or misplaced session and a newer version are refused or reported', async () => {
    const files = unzipSync(await writeStudy(study, bundleOf));
    const { 'sessions/V01.zip': gone, ...rest } = files;
    await expect(readStudy(source(zipSync(rest)))).rejects.toThrow('the study lists it, but it is not there');
    const changed = gone!.slice();
    changed[500] = changed[500]! ^ 1;
    const opened = await readStudy(source(zipSync({ ...rest, 'sessions/V01.zip': changed })));
    expect(await opened.sessions[1]!.isUnchanged()).toBe(false);
    const { problems } = await checkStudy(source(zipSync({ ...rest, 'sessions/V01.zip': changed })));
    expect(problems[0]).toBe('Session V01: its bundle was changed.');
    expect((await checkStudy(source(await writeStudy(study, bundleOf)))).problems).toEqual([]);
    const text = new TextDecoder().decode(files['study.json']!);
    const withText = (t: string) => source(zipSync({ ...files, 'study.json': new TextEncoder().encode(t) }));
    const newer = withText(text.replace('"formatVersion": 2', '"formatVersion": 3'));
    await expect(readStudy(newer)).rejects.toThrow('format version 3; this program reads up to 2');
    const elsewhere = withText(text.replace('sessions/V01.zip', 'sessions/V02.zip'));
    await expect(readStudy(elsewhere)).rejects.toThrow('the path of session V01 is sessions/V02.zip');
    await expect(readStudy(withText(text.replace('"study":', '"__proto__": {}, "study":')))).rejects.toThrow(
      '__proto__',
    );
  });
});
