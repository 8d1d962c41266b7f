import { describe, expect, test } from 'vitest';
import { apply, type Change, invert, type Note, startReview } from '../../../../src/core/marks/edit';
import * as logs from '../../../../src/core/marks/log';
import { marksFrom, nearest } from '../../../../src/core/marks/markset';
import { sampleIndex } from '../../../../src/core/units';
import { seqsOf } from './stacks';

const header = { session: 's', rater: 'R1', detected: {}, role: 'rater' } as const;
const detected = new Map([['band', marksFrom([10, 20, 30])]]);
const insert = (sample: number): Change => [{ op: 'marks', removed: [], added: [sampleIndex(sample)] }];

function logOf(...drafts: Omit<logs.Draft, 'at'>[]): logs.EditLog {
  return drafts.reduce(
    (log, draft) => logs.append(log, { at: '2026-02-14T10:00:00Z', ...draft }).log,
    logs.newLog(header),
  );
}

describe('a log written by other hands', () => {
  const first = { recording: 'band', intent: 'insert', change: insert(12) } as const;
  const second = { recording: 'band', intent: 'insert', change: insert(22) } as const;

  test('may undo and do again what is not on top of the stack', () => {
    const undone = logOf(first, second, { ...first, change: invert(first.change), undoes: 0 });
    const state = logs.replay(undone, detected);
    expect([...state.recordings.get('band')!.marks]).toEqual([10, 20, 22, 30]);
    expect([state.undoable, state.redoable].map(seqsOf)).toEqual([[1], [0]]);
    const both = logOf(
      first,
      second,
      { ...second, change: invert(second.change), undoes: 1 },
      { ...first, change: invert(first.change), undoes: 0 },
      { ...second, redoes: 1 },
    );
    const again = logs.replay(both, detected);
    expect([...again.recordings.get('band')!.marks]).toEqual([10, 20, 22, 30]);
    expect([again.undoable, again.redoable].map(seqsOf)).toEqual([[1], [0]]);
  });

  test('with an entry on a recording that is not there is refused', () => {
    const log = logOf({ recording: 'logger', intent: 'insert', change: insert(12) });
    expect(() => logs.replay(log, detected)).toThrow('entry 0 names an unknown recording: logger');
  });
});

test('canonical JSON sorts keys at every depth and leaves lists alone', () => {
  expect(logs.canonicalJson({ b: [2, 1], a: { d: null, c: 1 } })).toBe('{"a":{"c":1,"d":null},"b":[2,1]}');
});

test('remarks, dismissals and sign-offs invert', () => {
  const note: Note = { id: 'n1', kind: 'comment', start: sampleIndex(1), end: sampleIndex(2), text: 'x' };
  const change: Change = [
    { op: 'note', before: null, after: note },
    { op: 'dismissal', before: null, after: { reason: 'long interval', at: sampleIndex(15) } },
    { op: 'signOff', before: null, after: { segment: 'rest', at: '2026-02-14T10:00:00Z', reason: null } },
  ];
  const before = startReview(marksFrom([10]));
  const after = apply(before, change);
  expect(after).toMatchObject({ notes: [note], dismissals: [{ at: 15 }], signOffs: [{ segment: 'rest' }] });
  expect(apply(after, invert(change))).toEqual(before);
});

describe('marks', () => {
  test.each([[-1], [0.5], [2 ** 31], [Number.NaN]])('refuse %d', value => {
    expect(() => marksFrom([1, value])).toThrow(RangeError);
  });

  test('the nearest of two, the earlier one when they are as far', () => {
    const marks = marksFrom([10, 20]);
    expect([0, 14, 15, 16, 99].map(s => nearest(marks, s))).toEqual([0, 0, 0, 1, 1]);
  });
});
