import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Change } from '../../../../src/core/marks/edit';
import * as logs from '../../../../src/core/marks/log';
import { marksFrom } from '../../../../src/core/marks/markset';
import { covers } from '../../../../src/core/marks/spans';
import * as edits from '../../../../src/core/review/edits';
import { detectedOf, logHeader } from '../../../../src/core/review/session';
import { sampleIndex, span } from '../../../../src/core/units';
import { amount } from '../../amount';
import { recordingWith, sessionWith } from '../review/sample-session';

const length = 40;
const first = recordingWith({ detected: [3, 10, 17, 24, 31], sampleCount: length, id: 'chest-band' });
const second = recordingWith({ detected: [5, 15, 25, 35], sampleCount: length, id: 'logger' });
const session = sessionWith(first, second);
const ids = ['chest-band', 'logger'] as const;

type Act =
  | { readonly act: 'undo' }
  | { readonly act: 'redo' }
  | { readonly act: 'accept' | 'delete' | 'insert'; readonly on: 0 | 1; readonly at: number }
  | { readonly act: 'move'; readonly on: 0 | 1; readonly at: number; readonly to: number }
  | {
      readonly act: 'page' | 'unreadable' | 'readable' | 'look';
      readonly on: 0 | 1;
      readonly at: number;
      readonly to: number;
    };

const place = fc.integer({ min: 0, max: length - 1 });
const on = fc.constantFrom(0 as const, 1 as const);
const acts: fc.Arbitrary<Act[]> = fc.array(
  fc.oneof(
    fc.record({ act: fc.constantFrom('undo' as const, 'redo' as const) }),
    fc.record({ act: fc.constantFrom('accept' as const, 'delete' as const, 'insert' as const), on, at: place }),
    fc.record({ act: fc.constant('move' as const), on, at: place, to: place }),
    fc.record({
      act: fc.constantFrom('page' as const, 'unreadable' as const, 'readable' as const, 'look' as const),
      on,
      at: place,
      to: fc.integer({ min: 0, max: length + 5 }),
    }),
  ),
  { maxLength: 60 },
);

/** The review as plain arrays, one cell a sample; undo and redo are stacks of whole copies. */
interface Plain {
  marks: boolean[];
  accepted: boolean[];
  unreadable: boolean[];
}

const plainFrom = (marks: Iterable<number>): Plain => {
  const cells = Array<boolean>(length).fill(false);
  for (const m of marks) cells[m] = true;
  return { marks: cells, accepted: Array(length).fill(false), unreadable: Array(length).fill(false) };
};

function plainAct(p: Plain, a: Exclude<Act, { act: 'undo' | 'redo' }>): boolean {
  const fill = (cells: boolean[], value: boolean, from: number, to: number) => {
    let changed = false;
    for (let i = from; i < Math.min(to, length); i++) {
      changed ||= cells[i] !== value;
      cells[i] = value;
    }
    return changed;
  };
  switch (a.act) {
    case 'accept':
      return p.marks[a.at] === true && fill(p.accepted, true, a.at, a.at + 1);
    case 'delete':
      return p.marks[a.at] === true && fill(p.marks, false, a.at, a.at + 1);
    case 'insert':
      if (p.marks[a.at]) return false;
      p.marks[a.at] = p.accepted[a.at] = true;
      return true;
    case 'move':
      if (!p.marks[a.at] || p.marks[a.to]) return false;
      p.marks[a.at] = false;
      p.marks[a.to] = p.accepted[a.to] = true;
      return true;
    case 'page':
      return fill(p.accepted, true, a.at, a.to);
    case 'unreadable':
      return fill(p.unreadable, true, a.at, a.to);
    case 'readable':
      return fill(p.unreadable, false, a.at, a.to);
    case 'look':
      return false;
  }
}

function build(e: edits.Editing, a: Exclude<Act, { act: 'undo' | 'redo' }>): edits.Built {
  const at = sampleIndex(a.at);
  const range = () => span(a.at, Math.max(a.at, 'to' in a ? a.to : a.at));
  switch (a.act) {
    case 'accept':
      return edits.acceptMark(e, at);
    case 'delete':
      return edits.deleteMark(e, at);
    case 'insert':
      return edits.insertMark(e, at);
    case 'move':
      return edits.moveMark(e, at, sampleIndex(a.to));
    case 'page':
      return edits.acceptSpan(e, range());
    case 'unreadable':
      return edits.addUnreadable(e, range());
    case 'readable':
      return edits.removeUnreadable(e, range());
    case 'look':
      return edits.look(e, range());
  }
}

const intents = { page: 'accept', unreadable: 'unreadable', readable: 'readable', look: 'look' } as const;
const intentOf = (act: string) => (intents as Record<string, logs.Intent>)[act] ?? (act as logs.Intent);

function run(list: readonly Act[], onStep?: (log: logs.EditLog, state: logs.Replayed, act: Act, did: boolean) => void) {
  let log = logs.newLog(logHeader(session, 'R1'));
  let state = logs.startReplay(detectedOf(session));
  list.forEach((a, i) => {
    const at = new Date(Date.UTC(2026, 1, 15, 10, 0, i)).toISOString();
    let draft: logs.Draft | null;
    if (a.act === 'undo' || a.act === 'redo') {
      draft = a.act === 'undo' ? logs.undoDraft(log, state, at) : logs.redoDraft(log, state, at);
    } else {
      const recording = ids[a.on];
      const item = session.recordings[a.on]!;
      const built = build({ item, review: state.recordings.get(recording)!, finished: false }, a);
      const change = built === null || edits.isRefusal(built) ? null : (built as Change);
      draft = change && { at, recording, intent: intentOf(a.act), change };
    }
    if (draft) {
      const next = logs.append(log, draft);
      log = next.log;
      state = logs.advance(state, next.entry);
    }
    onStep?.(log, state, a, draft !== null);
  });
  return { log, state };
}

const copy = (p: readonly Plain[]) => structuredClone(p) as Plain[];

// source: the slow model above, which keeps one cell a sample and whole copies for undo.
describe('a review through the log', () => {
  test('any acts with undo and redo equal the plain arrays, and replay gives the same state', () => {
    fc.assert(
      fc.property(acts, list => {
        let plain = [plainFrom(first.detected), plainFrom(second.detected)];
        let past: Plain[][] = [];
        let future: Plain[][] = [];
        const { log, state } = run(list, (_log, now, a, did) => {
          if (a.act === 'undo' || a.act === 'redo') {
            const [from, to] = a.act === 'undo' ? [past, future] : [future, past];
            const target = from.pop();
            expect(did).toBe(target !== undefined);
            if (target) {
              to.push(plain);
              plain = target;
            }
          } else {
            const next = copy(plain);
            const changed = plainAct(next[a.on]!, a);
            if (a.act !== 'look') expect(did).toBe(changed);
            if (changed) {
              past = [...past, plain];
              future = [];
              plain = next;
            }
          }
          expectSame(now, plain);
        });
        expect(logs.replay(log, detectedOf(session))).toEqual(state);
        expect(logs.verifyChain(log)).toEqual({ ok: true });
        const stored = JSON.parse(JSON.stringify(log)) as logs.EditLog;
        expect(logs.replay(stored, detectedOf(session))).toEqual(state);
        expect(logs.verifyChain(stored)).toEqual({ ok: true });
      }),
      { numRuns: amount(400, 25), seed: 20260215 },
    );
  });

  test('undo to the bottom gives the detected marks, redo to the top what was there', () => {
    fc.assert(
      fc.property(acts, list => {
        const before = run(list);
        const n = before.log.entries.length;
        const undone = run([...list, ...Array(n).fill({ act: 'undo' })]);
        for (const item of session.recordings) {
          const review = undone.state.recordings.get(item.recording.id)!;
          expect(review.marks).toEqual(item.detected);
          expect(review.accepted).toEqual([]);
          expect(review.unreadable).toEqual([]);
        }
        const again = run([...list, ...Array(n).fill({ act: 'undo' }), ...Array(2 * n).fill({ act: 'redo' })]);
        const all = run([...list, ...Array(n).fill({ act: 'redo' })]);
        expect(again.state.recordings).toEqual(all.state.recordings);
      }),
      { numRuns: amount(100, 8), seed: 20260216 },
    );
  });
});

function expectSame(state: logs.Replayed, plain: readonly Plain[]): void {
  ids.forEach((id, r) => {
    const review = state.recordings.get(id)!;
    const p = plain[r]!;
    const marks = p.marks.flatMap((is, i) => (is ? [i] : []));
    expect([...review.marks]).toEqual(marks);
    expect(marks.map(m => covers(review.accepted, m))).toEqual(marks.map(m => p.accepted[m]));
    expect(p.unreadable.map((_, i) => covers(review.unreadable, i))).toEqual(p.unreadable);
  });
}

describe('the hash chain', () => {
  const some: Act[] = [
    { act: 'insert', on: 0, at: 7 },
    { act: 'move', on: 1, at: 15, to: 16 },
    { act: 'undo' },
    { act: 'unreadable', on: 0, at: 20, to: 30 },
    { act: 'delete', on: 0, at: 31 },
    { act: 'redo' },
  ];
  const { log } = run(some);
  const entries = log.entries;

  test('finds a change of any field of any entry, and names the entry', () => {
    expect(entries).toHaveLength(5); // the last redo has nothing to redo
    entries.forEach((entry, i) => {
      for (const part of [
        { at: '2026-02-15T10:59:00.000Z' },
        { recording: 'another' },
        { intent: 'settle' as const },
        { change: [] },
        { undoes: 0, seq: i },
        { reason: 'added later' },
        { origin: 'A' as const },
      ]) {
        if (logs.canonicalJson({ ...entry, ...part }) === logs.canonicalJson(entry)) continue;
        const forged = { ...log, entries: entries.with(i, { ...entry, ...part }) };
        expect(logs.verifyChain(forged)).toMatchObject({ ok: false, seq: i });
      }
    });
  });

  test('finds every drop before the end, every swap and a repeated entry', () => {
    for (let i = 0; i + 1 < entries.length; i++) {
      expect(logs.verifyChain({ ...log, entries: entries.toSpliced(i, 1) })).toMatchObject({ ok: false, seq: i });
      const swapped = entries.with(i, entries[i + 1]!).with(i + 1, entries[i]!);
      expect(logs.verifyChain({ ...log, entries: swapped })).toMatchObject({ ok: false, seq: i });
      const twice = entries.toSpliced(i, 0, entries[i]!);
      expect(logs.verifyChain({ ...log, entries: twice })).toMatchObject({ ok: false, seq: i + 1 });
    }
  });

  test('a changed entry with its own hash made again is found at the entry after it', () => {
    const body = { ...entries[1]!, reason: 'forged' };
    const { seq: _seq, previous: _previous, hash: _hash, ...draft } = body;
    const forged = logs.append({ ...log, entries: entries.slice(0, 1) }, draft).entry;
    expect(logs.verifyChain({ ...log, entries: entries.with(1, forged) })).toMatchObject({ ok: false, seq: 2 });
  });

  test('belongs to its header: another rater or other detected marks break it at the start', () => {
    const other = { ...log, header: { ...log.header, rater: 'R2' } };
    expect(logs.verifyChain(other)).toMatchObject({ ok: false, seq: 0 });
    const moved = { ...log.header.detected, logger: logs.detectedChecksum(marksFrom([5, 15, 25, 36])) };
    expect(logs.verifyChain({ ...log, header: { ...log.header, detected: moved } })).toMatchObject({ seq: 0 });
  });

  // source: sha256 of the empty string and of "abc", FIPS 180-2 appendix B (from memory).
  test('the hash is SHA-256', () => {
    expect(logs.sha256Hex(new Uint8Array(0))).toBe('e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855');
    expect(logs.sha256Hex(new TextEncoder().encode('abc'))).toBe(
      'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad',
    );
  });
});

test('canonical JSON is what JSON.stringify gives of the same data with its keys in order', () => {
  const inOrder = (value: unknown): unknown => {
    if (Array.isArray(value)) return value.map(inOrder);
    if (value === null || typeof value !== 'object') return value;
    const entries = Object.keys(value).sort();
    return Object.fromEntries(entries.map(key => [key, inOrder((value as Record<string, unknown>)[key])]));
  };
  const keys = fc.oneof(fc.string({ maxLength: 3 }), fc.constantFrom('10', '9', '007', '4294967295', 'ä', '-1', '1.5'));
  const values = fc.oneof(fc.string(), fc.integer(), fc.double(), fc.boolean(), fc.constantFrom(null, undefined));
  fc.assert(
    fc.property(fc.object({ key: keys, values: [values], maxDepth: 3 }), value => {
      expect(logs.canonicalJson(value)).toBe(JSON.stringify(inOrder(value)));
    }),
    { numRuns: amount(2000, 300), seed: 20261127 },
  );
});

// source: Node's own SHA-256 and UTF-8
test('an entry of any length is hashed over all of its text', () => {
  for (const text of [
    '',
    'ä€😀\ud800',
    'x'.repeat(16_000),
    'x'.repeat(16_384),
    '€'.repeat(5500),
    '😀'.repeat(20_000),
  ]) {
    const note = { id: '1', kind: 'comment' as const, start: sampleIndex(1), end: sampleIndex(2), text };
    const change: Change = [{ op: 'note', before: null, after: note }];
    const draft = { at: '2026-09-12T08:00:00.000Z', recording: ids[0], intent: 'comment' as const, change };
    const { log, entry } = logs.append(logs.newLog(logHeader(session, 'R1', 'rater')), draft);
    const { hash, ...body } = entry;
    expect(hash).toBe(createHash('sha256').update(logs.canonicalJson(body), 'utf8').digest('hex'));
    expect(logs.verifyChain(log)).toEqual({ ok: true });
  }
});
