import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { apply, type Change, invert, type Note, spanOperation, startReview } from '../../../../src/core/marks/edit';
import * as logs from '../../../../src/core/marks/log';
import { between, has, marksFrom, nearest, replace } from '../../../../src/core/marks/markset';
import { outside } from '../../../../src/core/marks/match';
import { firstEndingAfter, intersect, normalise, subtract, totalLength, union } from '../../../../src/core/marks/spans';
import { type Span, sampleIndex as s, span } from '../../../../src/core/units';
import { seqsOf } from './stacks';

// source: definition of a set of marks and of half-open spans, by hand
describe('a set of marks', () => {
  test('is sorted, holds each once, and reaches from 0 to the end of an Int32', () => {
    expect(marksFrom([30, 10, 30, 0, 10])).toEqual(Int32Array.of(0, 10, 30));
    expect(marksFrom([2 ** 31 - 1, 0])).toEqual(Int32Array.of(0, 2 ** 31 - 1));
  });

  test('knows what it holds, and what lies in a half-open stretch', () => {
    const marks = marksFrom([10, 20, 30]);
    expect([9, 10, 11, 30, 31].map(at => has(marks, at))).toEqual([false, true, false, true, false]);
    expect([...between(marks, 10, 30)]).toEqual([10, 20]);
    expect([...between(marks, 11, 31)]).toEqual([20, 30]);
    expect([...between(marks, 25, 15)]).toEqual([]);
    expect([nearest(marksFrom([]), 5), nearest(marks, 10), nearest(marks, 30)]).toEqual([-1, 0, 2]);
  });

  test('takes marks in and out at either end and leaves the old set alone', () => {
    const marks = marksFrom([10, 20, 30]);
    expect([...replace(marks, [s(10), s(30)], [s(40), s(5), s(25)])]).toEqual([5, 20, 25, 40]);
    expect([...marks]).toEqual([10, 20, 30]);
    expect(() => replace(marks, [s(40)], [])).toThrow('no mark to remove at sample 40');
    expect(() => replace(marks, [], [s(10)])).toThrow('a mark is already at sample 10');
  });

  test('without those in spans: those on the end of one stay', () => {
    const marks = marksFrom([0, 10, 20, 30, 40]);
    expect([...outside(marks, [])]).toEqual([0, 10, 20, 30, 40]);
    expect([...outside(marks, [span(0, 10), span(20, 31), span(50, 60)])]).toEqual([10, 40]);
    expect([...outside(marks, [span(5, 100)])]).toEqual([0]);
    expect([...outside(marksFrom([]), [span(5, 100)])]).toEqual([]);
  });
});

describe('sets of spans', () => {
  test('join what overlaps or touches and drop what is empty', () => {
    expect(normalise([span(20, 30), span(5, 5), span(0, 10), span(10, 12), span(22, 25)])).toEqual([
      span(0, 12),
      span(20, 30),
    ]);
    expect(union([span(0, 4)], [span(4, 6), span(8, 9)])).toEqual([span(0, 6), span(8, 9)]);
  });

  test('differ and meet sample by sample', () => {
    const a = [span(0, 10), span(20, 30), span(40, 50)];
    const b = [span(5, 25), span(28, 29), span(50, 60)];
    expect(subtract(a, b)).toEqual([span(0, 5), span(25, 28), span(29, 30), span(40, 50)]);
    expect(intersect(a, b)).toEqual([span(5, 10), span(20, 25), span(28, 29)]);
    expect(totalLength([span(0, 10), span(5, 12), span(20, 21)])).toBe(13);
    expect([0, 9, 10, 29, 30, 50].map(at => firstEndingAfter(a, at))).toEqual([0, 0, 1, 1, 2, 3]);
  });
});

describe('changes that do not fit', () => {
  const seen = (list: Span[]) => ({ ...startReview(marksFrom([])), seen: list });
  const swap = (list: Span[], removed: Span[], added: Span[]) => () =>
    apply(seen(list), [{ op: 'seen', removed, added }]).seen;

  test('a span is removed as a whole or not at all', () => {
    const list = [span(10, 20), span(30, 40)];
    expect(swap(list, [span(30, 40)], [])()).toEqual([span(10, 20)]);
    for (const part of [span(10, 19), span(11, 20), span(10, 21), span(20, 30), span(50, 60)]) {
      expect(swap(list, [part], [])).toThrow('a span to remove is not in the list');
    }
  });

  test('an added span keeps its distance from those that stay', () => {
    const list = [span(10, 20), span(30, 40)];
    expect(swap(list, [], [span(21, 29)])()).toEqual([span(10, 20), span(21, 29), span(30, 40)]);
    expect(swap(list, [], [span(0, 9), span(41, 50)])()).toEqual([span(0, 9), ...list, span(41, 50)]);
    for (const one of [span(20, 25), span(25, 30), span(12, 14), span(5, 45), span(25, 25)]) {
      expect(swap(list, [], [one])).toThrow('an added span overlaps or touches one that is kept');
    }
  });

  test('a remark is replaced by its id, and none is added twice', () => {
    const note = (id: string, start: number): Note => ({
      id,
      kind: 'comment',
      start: s(start),
      end: s(start),
      text: id,
    });
    const on = (notes: Note[], before: Note | null, after: Note | null) => () =>
      apply({ ...startReview(marksFrom([])), notes }, [{ op: 'note', before, after }]).notes;
    const [a, b, c] = [note('a', 20), note('b', 20), note('c', 5)];
    expect(on([a], null, c)()).toEqual([c, a]);
    expect(on([b], null, a)()).toEqual([a, b]);
    expect(on([a], null, b)()).toEqual([a, b]);
    expect(on([a, b], a, null)()).toEqual([b]);
    expect(on([a, b], a, note('a', 30))()).toEqual([b, note('a', 30)]);
    expect(on([a, b], c, null)).toThrow('nothing to replace: c');
    expect(on([a, b], null, note('b', 1))).toThrow('already there: b');
    expect(on([a, b], a, note('b', 1))).toThrow('already there: b');
  });

  test('suspicions set aside are known by reason and place, sign-offs by segment', () => {
    const empty = startReview(marksFrom([]));
    const dismissal = (reason: string, at: number): Change => [
      { op: 'dismissal', before: null, after: { reason, at: s(at) } },
    ];
    const two = apply(apply(empty, dismissal('amplitude', 90)), dismissal('gap', 40));
    expect(apply(two, dismissal('flat line', 40)).dismissals).toEqual([
      { reason: 'flat line', at: 40 },
      { reason: 'gap', at: 40 },
      { reason: 'amplitude', at: 90 },
    ]);
    expect(() => apply(two, dismissal('gap', 40))).toThrow('already there: gap@40');
    const signOff = (segment: string): Change => [
      { op: 'signOff', before: null, after: { segment, at: '2026-02-15T10:00:00Z', reason: null } },
    ];
    const signed = apply(apply(empty, signOff('rest')), signOff('approach hike'));
    expect(signed.signOffs.map(o => o.segment)).toEqual(['approach hike', 'rest']);
    expect(apply(signed, invert(signOff('rest'))).signOffs.map(o => o.segment)).toEqual(['approach hike']);
  });

  test('two lists differ by whole spans only', () => {
    const before = [span(0, 5), span(10, 20), span(30, 40)];
    const after = [span(0, 5), span(10, 25), span(50, 60)];
    expect(spanOperation('unreadable', before, after)).toEqual({
      op: 'unreadable',
      removed: [span(10, 20), span(30, 40)],
      added: [span(10, 25), span(50, 60)],
    });
    expect(spanOperation('seen', before, before)).toEqual({ op: 'seen', removed: [], added: [] });
    const fewer = before.slice(1);
    expect(spanOperation('seen', before, fewer)).toEqual({ op: 'seen', removed: [span(0, 5)], added: [] });
    expect(spanOperation('seen', fewer, before)).toEqual({ op: 'seen', removed: [], added: [span(0, 5)] });
  });

  test('a review starts with the detected marks and nothing else', () => {
    expect(startReview(marksFrom([10]))).toEqual({
      marks: marksFrom([10]),
      unreadable: [],
      accepted: [],
      seen: [],
      rhythmChecked: [],
      notes: [],
      dismissals: [],
      signOffs: [],
      settlements: [],
      spotChecks: [],
      hints: [],
      notSinus: new Int32Array(0),
      samplePlans: [],
      sampled: [],
    });
  });

  test('what was done in steps is taken back in the reverse order', () => {
    const start = startReview(marksFrom([10]));
    const note = (text: string): Note => ({ id: 'a', kind: 'comment', start: s(4), end: s(4), text });
    const change: Change = [
      { op: 'note', before: null, after: note('odd shape') },
      { op: 'note', before: note('odd shape'), after: note('step in baseline') },
      { op: 'marks', removed: [s(10)], added: [s(12)] },
      { op: 'marks', removed: [s(12)], added: [s(14)] },
    ];
    const there = apply(start, change);
    expect([there.notes[0]!.text, ...there.marks]).toEqual(['step in baseline', 14]);
    expect(apply(there, invert(change))).toEqual(start);
  });
});

describe('a log', () => {
  const header = { session: 'day', rater: 'R1', detected: {}, role: 'rater' } as const;
  const detected = new Map([['band', marksFrom([10, 20, 30])]]);
  const at = '2026-02-14T10:00:00Z';
  const insert = (sample: number): Change => [{ op: 'marks', removed: [], added: [s(sample)] }];
  const logOf = (...drafts: Omit<logs.Draft, 'at'>[]) =>
    drafts.reduce((log, draft) => logs.append(log, { at, ...draft }).log, logs.newLog(header));
  const inserted = { recording: 'band', intent: 'insert', change: insert(12) } as const;
  const looked: Omit<logs.Draft, 'at'> = {
    recording: 'band',
    intent: 'look',
    change: [{ op: 'seen', removed: [], added: [span(0, 9)] }],
  };
  const whole = (intent: logs.Intent) => ({ recording: '', intent, change: [] });

  test('is finished from finish to restart, whatever else is appended', () => {
    const finished = (...drafts: Omit<logs.Draft, 'at'>[]) => logs.replay(logOf(...drafts), detected).finished;
    expect(finished()).toBe(false);
    expect(finished(inserted)).toBe(false);
    expect(finished(inserted, whole('finish'))).toBe(true);
    expect(finished(inserted, whole('finish'), looked)).toBe(true);
    expect(finished(inserted, whole('finish'), whole('restart'), looked)).toBe(false);
  });

  test.each(['look', 'sign off', 'reopen', 'finish', 'restart'] as const)(
    '%s is not undone and ends no redo',
    intent => {
      const undone = logOf(inserted, { ...inserted, change: invert(inserted.change), undoes: 0 }, whole(intent));
      const state = logs.replay(undone, detected);
      expect([state.undoable, state.redoable].map(seqsOf)).toEqual([[], [0]]);
      expect(logs.undoDraft(undone, state, at)).toBeNull();
      expect(logs.redoDraft(undone, state, at)).toEqual({ at, ...inserted, redoes: 0 });
    },
  );

  test('undoes the latest act by its inverse, under its own name and origin; a new act ends redo', () => {
    const log = logOf(inserted, { ...inserted, change: insert(22), origin: 'A' });
    const state = logs.replay(log, detected);
    const draft = logs.undoDraft(log, state, '2026-02-14T11:00:00Z')!;
    expect(draft).toEqual({
      at: '2026-02-14T11:00:00Z',
      recording: 'band',
      intent: 'insert',
      change: [{ op: 'marks', removed: [22], added: [] }],
      origin: 'A',
      undoes: 1,
    });
    const undone = logs.append(log, draft).log;
    expect(logs.redoDraft(log, state, at)).toBeNull();
    expect(logs.redoDraft(undone, logs.replay(undone, detected), at)).toMatchObject({ redoes: 1, origin: 'A' });
    const again = logs.replay(logs.append(undone, { at, ...inserted, change: insert(15) }).log, detected);
    expect([again.undoable, again.redoable].map(seqsOf)).toEqual([[0, 3], []]);
  });

  test('does not hold when its last entry has a number or forerunner that is not its own, though hashed again', () => {
    const log = logOf(inserted, looked);
    const [first, last] = [log.entries[0]!, log.entries[1]!];
    const forged = (part: Partial<logs.LogEntry>) => {
      const { hash: _hash, ...body } = { ...last, ...part };
      const hash = logs.sha256Hex(new TextEncoder().encode(logs.canonicalJson(body)));
      return logs.verifyChain({ header, entries: [first, { ...body, hash }] });
    };
    expect(forged({})).toEqual({ ok: true });
    expect(forged({ seq: 2 })).toMatchObject({ ok: false, seq: 1, why: expect.stringContaining('number 2') });
    expect(forged({ previous: first.previous })).toMatchObject({ ok: false, seq: 1 });
  });

  test('is hashed the same whatever the order of its keys', () => {
    const keys = Array.from({ length: 40 }, (_, i) => `k${(i * 17) % 40}`);
    const shuffled = Object.fromEntries(keys.map(key => [key, { z: 1, m: 2, a: 3, q: 4 }]));
    const sorted = Object.fromEntries([...keys].sort().map(key => [key, { a: 3, m: 2, q: 4, z: 1 }]));
    expect(logs.canonicalJson(shuffled)).toBe(JSON.stringify(sorted));
  });

  // source: Node's own SHA-256 over the words written out by hand, little-endian
  test('knows detected marks by the hash of their bytes', () => {
    const bytes = Buffer.from('010000000001000004030201', 'hex');
    const expected = createHash('sha256').update(bytes).digest('hex');
    expect(logs.detectedChecksum(marksFrom([1, 256, 0x01020304]))).toBe(expected);
  });
});
