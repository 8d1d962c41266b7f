import { describe, expect, test } from 'vitest';
import type { Change } from '../../../../src/core/marks/edit';
import { invert } from '../../../../src/core/marks/edit';
import { append, type Draft, type EditLog, type LogHeader, newLog } from '../../../../src/core/marks/log';
import { auditTable } from '../../../../src/core/report/audit';
import { countedReview, replaySession } from '../../../../src/core/report/counted-review';
import { logHeader } from '../../../../src/core/review/session';
import { sampleIndex } from '../../../../src/core/units';
import { recordingWith, sessionWith } from '../review/sample-session';

const session = sessionWith(recordingWith({ detected: [100, 200, 300] }));
const insert = (sample: number): Change => [{ op: 'marks', removed: [], added: [sampleIndex(sample)] }];
const act = (minute: number, part: Partial<Draft>): Draft => ({
  at: `2026-02-14T10:0${minute}:00Z`,
  recording: 'chest-band',
  intent: 'insert',
  change: [],
  ...part,
});
const finish = act(9, { recording: '', intent: 'finish' });

function logOf(rater: string, role: LogHeader['role'], ...drafts: Draft[]): EditLog {
  return drafts.reduce((log, draft) => append(log, draft).log, newLog(logHeader(session, rater, role)));
}

const rowOf = (log: EditLog) => auditTable([replaySession({ session, logs: [log] })])[0]!;

describe('the audit of a log', () => {
  // source: counted by hand; what was taken back and done again is not undone
  test('counts what was meant, what was taken back and what was reopened', () => {
    const note = { id: 'n1', start: sampleIndex(5), end: sampleIndex(5), text: 'x' };
    const log = logOf(
      'R1',
      'rater',
      act(0, { change: insert(150) }),
      act(1, { change: insert(250) }),
      act(2, { change: invert(insert(250)), undoes: 1 }),
      act(3, { change: insert(250), redoes: 1 }),
      act(4, { change: invert(insert(250)), undoes: 1 }),
      act(5, { intent: 'comment', change: [{ op: 'note', before: null, after: { ...note, kind: 'comment' } }] }),
      act(6, { recording: '', intent: 'finish' }),
      act(7, { recording: '', intent: 'restart' }),
      act(8, { intent: 'flag', change: [{ op: 'note', before: null, after: { ...note, id: 'n2', kind: 'flag' } }] }),
    );
    expect(rowOf(log)).toMatchObject({
      rater: 'R1',
      source: 'R1, not finished',
      finished: false,
      entries: 9,
      byIntent: { insert: 2, comment: 1, flag: 1, finish: 1, restart: 1 },
      undone: 1,
      reopened: 1,
      comments: 1,
      flags: 1,
      firstAt: '2026-02-14T10:00:00Z',
      lastAt: '2026-02-14T10:08:00Z',
      chainProblem: null,
      lastHash: log.entries[8]!.hash,
    });
  });

  test('of nothing has no first and last', () => {
    expect(rowOf(logOf('R1', 'rater'))).toMatchObject({
      entries: 0,
      firstAt: null,
      lastAt: null,
      lastHash: null,
      undone: 0,
    });
  });

  test('says what is wrong with a chain that does not hold', () => {
    const log = logOf('R1', 'rater', act(0, { change: insert(150) }), finish);
    const forged = { ...log, entries: [{ ...log.entries[0]!, reason: 'forged' }, log.entries[1]!] };
    expect(rowOf(forged).chainProblem).toBe('entry 0 was changed after it was written');
  });
});

describe('the review that counts', () => {
  const counted = (includeUnfinished: boolean, ...logs: EditLog[]) =>
    countedReview(replaySession({ session, logs }), includeUnfinished)?.source ?? null;
  const [r1, r2] = [logOf('R1', 'rater', finish), logOf('R2', 'rater', finish)];
  const settled = logOf('S1', 'adjudicator', finish);
  const [open1, open2, openSettled] = [logOf('R1', 'rater'), logOf('R2', 'rater'), logOf('S1', 'adjudicator')];

  // source: definition: a finished adjudicated one, else the finished one of the rater first by code
  test('is the settled one, else the first finished rater’s, in whatever order they come', () => {
    expect(counted(false, r2, settled, r1)).toBe('adjudicated by S1');
    expect(counted(false, r2, r1)).toBe('R1');
    expect(counted(false, r1, r2)).toBe('R1');
    expect(counted(false, openSettled, r2, open1)).toBe('R2');
  });

  test('is an unfinished one only where those are let in and none is finished', () => {
    expect(counted(false, open1, openSettled)).toBeNull();
    expect(counted(true, open2, open1)).toBe('R1, not finished');
    expect(counted(true, open2, openSettled)).toBe('adjudicated by S1, not finished');
    expect(counted(true, openSettled, r2)).toBe('R2');
  });

  test('is never a learner’s', () => {
    expect(counted(true, logOf('L1', 'learner', finish))).toBeNull();
  });
});
