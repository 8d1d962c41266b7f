import { describe, expect, test } from 'vitest';
import { addHeads, printedHeads, readHeads } from '../../../src/remote/heads';
import { isRaterCode, parseChunkName } from '../../../src/remote/names';
import type { Assignment, StudyRevision } from '../../../src/remote/records';
import {
  assign,
  drawPairs,
  makeStudyFolders,
  readAssignments,
  readStudyRevision,
  reviseStudy,
} from '../../../src/remote/study';
import { MemoryStore } from './memory-store';

const sessions = Array.from({ length: 40 }, (_, i) => `V${String(i + 1).padStart(2, '0')}-am`);

describe('drawing who rates what', () => {
  test('first ratings are shared out evenly, second ones to the stated share, never to the first rater again', () => {
    const pairs = drawPairs(sessions, ['R1', 'R2', 'R3', 'R4'], 0.3, 7);
    expect(pairs.map(p => p.session).sort()).toEqual(sessions);
    for (const rater of ['R1', 'R2', 'R3', 'R4']) expect(pairs.filter(p => p.first === rater)).toHaveLength(10);
    const doubled = pairs.filter(p => p.second !== null);
    expect(doubled).toHaveLength(12);
    expect(doubled.every(p => p.second !== p.first)).toBe(true);
  });

  test('the same seed draws the same, whatever the order of the lists; another one draws anew', () => {
    const drawn = drawPairs(sessions, ['R1', 'R2', 'R3'], 0.5, 1);
    expect(drawPairs([...sessions].reverse(), ['R3', 'R1', 'R2'], 0.5, 1)).toEqual(drawn);
    expect(drawPairs(sessions, ['R1', 'R2', 'R3'], 0.5, 2)).not.toEqual(drawn);
  });

  test('edges: none doubled, all doubled, one rater, nobody', () => {
    expect(drawPairs(sessions, ['R1', 'R2'], 0, 1).every(p => p.second === null)).toBe(true);
    expect(drawPairs(sessions, ['R1', 'R2'], 1, 1).every(p => p.second !== null)).toBe(true);
    expect(drawPairs(sessions, ['R1'], 1, 1).every(p => p.second === null)).toBe(true);
    expect(() => drawPairs(sessions, [], 1, 1)).toThrow(RangeError);
  });
});

const revision = (title: string): StudyRevision => ({
  format: 'beat-ledger study in a store',
  formatVersion: 1,
  id: 'trial-1',
  title,
  protocol: 'Mark every beat.',
  settings: { onPeakToleranceMs: 50, wrongPeakWindowMs: 400 },
  draws: [],
  branches: [],
});

describe('a study in a store', () => {
  test('the last revision holds; a supervisor who was overtaken sees so', async () => {
    const store = new MemoryStore();
    await makeStudyFolders(store, []);
    expect(await readStudyRevision(store)).toBeNull();
    expect(await reviseStudy(store, revision('first'), 0)).toBe('revised');
    expect(await reviseStudy(store, revision('second'), 1)).toBe('revised');
    expect(await reviseStudy(store, revision('too late'), 1)).toBe('overtaken');
    expect(await readStudyRevision(store)).toMatchObject({ number: 2, revision: { title: 'second' } });
  });

  test('assignments are read by session; one that is there is not replaced', async () => {
    const store = new MemoryStore();
    await makeStudyFolders(store, ['R1']);
    const one: Assignment = {
      session: 'V02-am',
      manifest: 'a'.repeat(64),
      place: 'second',
      due: '2026-03-01',
      assignedAt: 't',
    };
    expect(await assign(store, 'R1', one)).toBe('created');
    expect(await assign(store, 'R1', { ...one, due: null })).toBe('exists');
    expect(await assign(store, 'R1', { ...one, session: 'V01-am', place: 'settles' })).toBe('created');
    expect((await readAssignments(store, 'R1')).map(a => [a.session, a.place])).toEqual([
      ['V01-am', 'settles'],
      ['V02-am', 'second'],
    ]);
    store.files.set('assign/R1/V03-am.json', new TextEncoder().encode('{"session":"V03-am"}'));
    await expect(readAssignments(store, 'R1')).rejects.toThrow('assign/R1/V03-am.json');
  });

  test('heads are chained; one that is taken out or changed is noticed', async () => {
    const store = new MemoryStore();
    await makeStudyFolders(store, []);
    const head = { rater: 'R1', session: 'V01-am', count: 3, head: 'b'.repeat(64), signedOff: false };
    await addHeads(store, [head], '2026-02-14T10:00:00Z');
    await addHeads(store, [{ ...head, count: 4 }], '2026-02-14T11:00:00Z');
    const third = await addHeads(store, [{ ...head, count: 5, signedOff: true }], '2026-02-14T12:00:00Z');
    expect((await readHeads(store)).problems).toEqual([]);
    expect(printedHeads(third)).toContain(`R1\tV01-am\t5\t${'b'.repeat(64)}\tsigned off`);
    const names = [...store.files.keys()].sort();
    const second = store.files.get(names[1]!)!;
    store.files.delete(names[1]!);
    expect((await readHeads(store)).problems.join()).toContain('heads 3 do not follow');
    store.files.set(
      names[1]!,
      new TextEncoder().encode(new TextDecoder().decode(second).replace('"count":4', '"count":2')),
    );
    expect((await readHeads(store)).problems.join()).toContain('was changed');
  });
});

test('names of chunks and codes of raters', () => {
  expect(parseChunkName(`00000000-00000049-${'a'.repeat(64)}.jsonl`)).toMatchObject({ from: 0, to: 49 });
  expect(parseChunkName(`00000049-00000000-${'a'.repeat(64)}.jsonl`)).toBeNull();
  expect(parseChunkName(`0-49-${'a'.repeat(64)}.jsonl`)).toBeNull();
  expect(['R1', 'r.one@lab', '_x'].every(isRaterCode)).toBe(true);
  expect(['', '.', '..', 'a/b', 'R 1', 'ü', 'x'.repeat(65)].some(isRaterCode)).toBe(false);
});
