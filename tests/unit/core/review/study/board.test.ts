import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { marksFrom } from '../../../../../src/core/marks/markset';
import { evidenceIn, evidenceNote, noteText, shownNotes } from '../../../../../src/core/review/places/evidence';
import { boardRows } from '../../../../../src/core/review/study/board';
import { sampleIndex, span } from '../../../../../src/core/units';
import { readBundle } from '../../../../../src/formats/bundle/reader';
import { bytesSource } from '../../../../../src/formats/bytes/source';
import { studyPath } from '../../report/sample-study';

const opened = async (volunteer: string) =>
  (await readBundle(bytesSource('x.zip', readFileSync(studyPath(volunteer))))).reviewed;

// source: sample-sessions/README.md: all reviewed by R1, V03 and V06 also by R2
test('the board says who has finished, and how far it is', async () => {
  const reviewed = await opened('V03');
  const rows = boardRows(reviewed);
  expect(rows.map(r => [r.volunteer, r.recorder])).toEqual([
    ['V03', 'chest band'],
    ['V03', 'adhesive logger'],
  ]);
  for (const row of rows) {
    expect(row).toMatchObject({ coverageShare: 1, signedOffSegments: 5, finishedBy: ['R1', 'R2'], settled: false });
    expect(row.activities).toHaveLength(5);
  }
  const untouched = boardRows({ ...reviewed, logs: [] });
  expect(untouched[0]).toMatchObject({ coverageShare: 0, signedOffSegments: 0, finishedBy: [], begunBy: [] });
  const cut = reviewed.logs.map(l => ({ ...l, entries: l.entries.slice(0, 200) }));
  const begun = boardRows({ ...reviewed, logs: cut });
  expect(begun[0]).toMatchObject({ finishedBy: [], begunBy: ['R1', 'R2'] });
  expect(begun[0]!.coverageShare).toBeGreaterThan(0);
});

test('one rater under two codes that differ in letters, or for the second time, is one person on the board', async () => {
  const { session, logs } = await opened('V03');
  const [first, second] = logs;
  const under = (rater: string) => ({ ...second!, header: { ...second!.header, rater } });
  for (const code of ['r1', 'R1.2']) {
    const [row] = boardRows({ session, logs: [first!, under(code)] });
    expect(row).toMatchObject({ finishedBy: ['R1', code], finishers: 1 });
  }
  expect(boardRows({ session, logs })[0]!.finishers).toBe(2);
});

test('places at which the other trace was used are counted in their segment, and given in words', () => {
  const used = (at: number) => evidenceNote(`n${at}`, sampleIndex(at), 'adhesive logger');
  const words = noteText(used(1));
  const comment = { id: 'n60', kind: 'comment', ...span(60, 60), text: words } as const;
  const review = { notes: [used(10), comment, used(99), used(100)], notSinus: marksFrom([70]) };
  expect(shownNotes(review).map(noteText)).toEqual([words, words, words, words, 'not sinus']);
  expect(words).toBe('Trace of adhesive logger used as evidence.');
  expect(noteText(comment)).toBe(words);
  expect(evidenceIn(review, span(0, 100))).toBe(2);
  expect(evidenceIn(review, span(100, 200))).toBe(1);
});
