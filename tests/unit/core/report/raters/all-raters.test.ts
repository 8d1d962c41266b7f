import { expect, test } from 'vitest';
import { allRaters } from '../../../../../src/core/report/raters/all-raters';
import type { RaterAgreementRow } from '../../../../../src/core/report/raters/rater-agreement';

const settings = { draws: 300, seed: 1, level: 0.95 };

/** Two raters of one recording: `kept` marks kept by both, and as many moved by A, by B, by both. */
function row(volunteer: string, kept: number, onlyA: number, onlyB: number, both: number): RaterAgreementRow {
  const verdictTable = [
    [kept, onlyB, 0, 0],
    [onlyA, both, 0, 0],
    [0, 0, 0, 0],
    [0, 0, 0, 0],
  ];
  const names = {
    session: volunteer,
    volunteer,
    recorder: 'chest band',
    raterA: 'R1',
    raterB: 'R2',
    repeatedBy: null,
    activity: null,
  };
  return { ...names, verdictTable } as unknown as RaterAgreementRow;
}

const five = ['V01', 'V02', 'V03', 'V04', 'V05'].map((v, i) => row(v, 300 + i, i, 2, 10 + i));
const of = (all: ReturnType<typeof allRaters>, measure: string) => all!.rows.find(r => r.measure === measure)!.result;

test('all raters together: counts, values by their definitions, intervals over volunteers', () => {
  const all = allRaters(five, settings)!;
  const marks = five.flatMap(r => r.verdictTable.flat()).reduce((a, b) => a + b, 0);
  expect(all).toMatchObject({ volunteers: 5, recordings: 5, raters: [2, 2], ratings: 2 * marks });
  // source: definition: pairs that agree of all; 2a / (2a + b + c)
  const sum = (i: number, j: number) => five.reduce((n, r) => n + r.verdictTable[i]![j]!, 0);
  expect(of(all, 'observed agreement').value).toBeCloseTo((sum(0, 0) + sum(1, 1)) / marks, 12);
  const clustered = all.rows.filter(r => r.clustered);
  expect(clustered.map(r => r.measure)).toEqual(['Fleiss’ kappa']);
  expect(clustered[0]!.clustered!.value).toBeCloseTo(of(all, 'Fleiss’ kappa').value!, 12);
  const moved = of(all, 'specific agreement: moved');
  expect(moved.value).toBeCloseTo((2 * sum(1, 1)) / (2 * sum(1, 1) + sum(0, 1) + sum(1, 0)), 12);
  if (moved.value === null || !moved.expandedBca) throw new Error('no interval');
  expect(moved.expandedBca[0]).toBeLessThan(moved.value);
  expect(moved.expandedBca[1]).toBeGreaterThan(moved.value);
});

test('says why there is no number, and no interval', () => {
  expect(allRaters([], settings)).toBeNull();
  expect(of(allRaters(five, settings), 'specific agreement: removed')).toEqual({
    value: null,
    reason: 'no rater chose this verdict',
  });
  const two = of(allRaters(five.slice(0, 2), settings), 'Krippendorff’s alpha');
  expect(two).toMatchObject({
    expandedBca: null,
    intervalReason: 'an interval needs 4 volunteers rated by two or more',
  });
});
