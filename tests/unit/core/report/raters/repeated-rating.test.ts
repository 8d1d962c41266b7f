import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import type { EditLog } from '../../../../../src/core/marks/log';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import { replaySession } from '../../../../../src/core/report/counted-review';
import { allRaters } from '../../../../../src/core/report/raters/all-raters';
import { raterAgreement } from '../../../../../src/core/report/raters/rater-agreement';
import { ratersByWeek } from '../../../../../src/core/report/raters/raters-by-week';
import type { ReviewedSession } from '../../../../../src/core/review/session';
import { readBundle } from '../../../../../src/formats/bundle/reader';
import { bytesSource } from '../../../../../src/formats/bytes/source';
import { studyPath } from '../sample-study';

const { reviewed } = await readBundle(bytesSource('V03.zip', readFileSync(studyPath('V03'))));
const [r1, r2] = reviewed.logs as [EditLog, EditLog];
const as = (log: EditLog, rater: string): EditLog => ({ header: { ...log.header, rater }, entries: log.entries });
const agreementOf = (logs: readonly EditLog[]) => {
  const sessions = [replaySession({ ...reviewed, logs } as ReviewedSession)];
  return { sessions, ...raterAgreement(sessions, defaultMatchSettings) };
};
const whole = ({ rows }: ReturnType<typeof agreementOf>) => rows.filter(r => r.activity === null);

test('two ratings of one rater are told apart from those of two raters, with the same numbers', () => {
  const [two, again] = [agreementOf([r1, r2]), agreementOf([r1, as(r2, 'R1.2')])];
  expect(whole(two).map(r => [r.raterA, r.raterB, r.repeatedBy])).toEqual([
    ['R1', 'R2', null],
    ['R1', 'R2', null],
  ]);
  expect(whole(again).map(r => [r.raterA, r.raterB, r.repeatedBy])).toEqual([
    ['R1', 'R1.2', 'R1'],
    ['R1', 'R1.2', 'R1'],
  ]);
  expect(two.repeated).toEqual([]);
  expect(again.total).toBeNull();
  const [own] = again.repeated;
  const { onlyA, onlyB, ...total } = two.total!;
  expect(own).toMatchObject({ rater: 'R1', volunteers: 1, ...total, onlyFirst: onlyA, onlyLater: onlyB });
  const differences = whole(two).map(r => r.qualityDifference.value!);
  expect(own!.qualityChange).toEqual({ value: -(differences[0]! + differences[1]!) / 2, n: 2 });
  // One volunteer: no interval over volunteers, whatever the marks say.
  expect(own!.kappa).toMatchObject({ interval: null, intervalReason: expect.stringContaining('volunteers') });
});

// source: counted by hand, two recordings, each with the pairs of three raters
test('a recording that three rated is one recording with three pairs', () => {
  const { total, rows } = agreementOf([r1, r2, as(r2, 'R3')]);
  expect(total).toMatchObject({ recordings: 2, pairs: 6 });
  expect(rows.filter(r => r.activity === null)).toHaveLength(6);
  const { repeated } = agreementOf([r1, as(r2, 'R1.2'), as(r2, 'R1.3')]);
  expect(repeated).toMatchObject([{ rater: 'R1', recordings: 2, pairs: 4 }]);
});

test('between raters only first ratings count, in whatever order they come', () => {
  const all = agreementOf([as(r2, 'R1.2'), r2, r1]);
  expect(whole(all).map(r => `${r.raterA} ${r.raterB}`)).toEqual(['R2 R1', 'R2 R1', 'R1 R1.2', 'R1 R1.2']);
  expect(all.total!.recordings).toBe(2);
  const settings = { draws: 100, seed: 1, level: 0.95 };
  expect(allRaters(all.rows, settings)).toEqual(allRaters(agreementOf([r2, r1]).rows, settings));
});

test('a code in other letters is the same rater, who rated first what was begun first', () => {
  const begun = (log: EditLog, at: string): EditLog => ({
    ...log,
    entries: log.entries.map((e, i) => (i === 0 ? { ...e, at } : e)),
  });
  const [early, late] = ['2026-01-01T08:00:00.000Z', '2026-02-01T08:00:00.000Z'];
  const asTyped = agreementOf([begun(as(r1, 'R1'), late), begun(as(r2, 'r1'), early)]);
  expect(asTyped.total).toBeNull();
  expect(whole(asTyped).map(r => [r.raterA, r.raterB, r.repeatedBy])).toEqual([
    ['r1', 'R1', 'r1'],
    ['r1', 'R1', 'r1'],
  ]);
});

test('one rater signs two sessions in other letters: one line of repeated ratings, one line a week', () => {
  const sessionOf = (id: string, logs: readonly EditLog[]) =>
    replaySession({
      ...reviewed,
      session: { ...reviewed.session, id },
      logs: logs.map(l => ({ ...l, header: { ...l.header, session: id } })),
    } as ReviewedSession);
  const sessions = [sessionOf('am', [as(r1, 'R1'), as(r2, 'R1.2')]), sessionOf('pm', [as(r1, 'r1'), as(r2, 'r1.2')])];
  const { rows, repeated } = raterAgreement(sessions, defaultMatchSettings);
  expect(repeated.map(r => r.rater)).toEqual(['R1']);
  expect(new Set(rows.map(r => r.repeatedBy))).toEqual(new Set(['R1']));
  const firsts = sessions.map(s => ({ ...s, logs: s.logs.slice(0, 1) }));
  expect(ratersByWeek(firsts, []).map(w => [w.rater, w.sessions])).toEqual([['R1', 2]]);
});

// source: definitions; the second rater's difference is the first one's with the other sign
test('each rater has a line for the week of signing off', () => {
  const { sessions, rows } = agreementOf([r1, r2]);
  const weeks = ratersByWeek(sessions, rows);
  expect(weeks.map(w => [w.rater, w.sessions])).toEqual([
    ['R1', 1],
    ['R2', 1],
  ]);
  expect(weeks[0]!.week).toMatch(/^2026-W\d\d$/);
  expect(weeks[0]!.qualityDifference.value).toBeCloseTo(-weeks[1]!.qualityDifference.value!, 12);
  expect(weeks[0]!.f1).toEqual(weeks[1]!.f1);
  const alone = ratersByWeek(sessions, []);
  expect(alone[0]!.f1).toEqual({ value: null, reason: expect.stringContaining('no other rater') });
});
