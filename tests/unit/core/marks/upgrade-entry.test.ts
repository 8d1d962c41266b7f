import { describe, expect, test } from 'vitest';
import type { Change } from '../../../../src/core/marks/edit';
import * as logs from '../../../../src/core/marks/log';
import { marksFrom } from '../../../../src/core/marks/markset';
import type { OldEntry } from '../../../../src/core/marks/old-entry';
import { upgradeEntry } from '../../../../src/core/marks/upgrade-entry';
import { sampleIndex as s } from '../../../../src/core/units';

const header = { session: 's', rater: 'S1', detected: {}, role: 'adjudicator' } as const;
const detected = new Map([['band', marksFrom([10, 20, 30])]]);
type Part = Partial<Omit<OldEntry, 'seq' | 'previous' | 'hash'>>;

/** Entries of version 1 in a chain of their own: hashed over what they say, without a version. */
function oldLog(...parts: Part[]): OldEntry[] {
  const entries: OldEntry[] = [];
  for (const part of parts) {
    const before = entries.at(-1)?.hash ?? logs.lastHash(logs.newLog(header));
    const body = {
      at: '2026-02-14T10:00:00Z',
      recording: 'band',
      intent: 'dismiss' as const,
      change: [],
      ...part,
      seq: entries.length,
      previous: before,
    };
    entries.push({ ...body, hash: logs.sha256Hex(new TextEncoder().encode(logs.canonicalJson(body))) });
  }
  return entries;
}

const upgradeOf = (part: Part) => upgradeEntry(oldLog(part)[0]!);
const dismissal = (reason: string, at = 15) => ({ reason, at: s(at) });
const set = (reason: string): Part => ({ change: [{ op: 'dismissal', before: null, after: dismissal(reason) }] });
const note = (text: string, kind: 'comment' | 'flag' = 'comment') => ({
  id: 'n1',
  kind,
  start: s(10),
  end: s(10),
  text,
});

// source: the sentences that version 1 wrote, taken from its code (settle, spot-check, practice, evidence, non-sinus).
describe('an entry of version 1', () => {
  test.each<[string, Change[number]]>([
    ['only A: took B', { op: 'settlement', before: null, after: { kind: 'only A', at: s(15), take: 'B' } }],
    [
      'span differs: took new',
      { op: 'settlement', before: null, after: { kind: 'span differs', at: s(15), take: 'new' } },
    ],
    ['spot check: changed', { op: 'spotCheck', before: null, after: { at: s(15), outcome: 'changed' } }],
    ['hint', { op: 'hint', before: null, after: { at: s(15) } }],
    ['long interval', { op: 'dismissal', before: null, after: dismissal('long interval') }],
    ['only A: took a walk', { op: 'dismissal', before: null, after: dismissal('only A: took a walk') }],
  ])('with the dismissal %j says what it was', (reason, operation) => {
    expect(upgradeOf(set(reason)).change).toEqual([operation]);
  });

  test('that settled a difference again replaces the answer, also when it is undone', () => {
    const again: Part['change'] = [
      { op: 'dismissal', before: dismissal('only B: took A'), after: dismissal('only B: took new') },
    ];
    const settled = { kind: 'only B', at: s(15) } as const;
    expect(upgradeOf({ change: again }).change).toEqual([
      { op: 'settlement', before: { ...settled, take: 'A' }, after: { ...settled, take: 'new' } },
    ]);
  });

  test.each([
    ['Other trace used as evidence: adhesive logger.', { kind: 'evidence', recorder: 'adhesive logger', text: '' }],
    ['Ectopic, wide', { kind: 'not sinus', text: 'Ectopic, wide' }],
    ['Not sinus? maybe noise', { kind: 'not sinus', text: 'Not sinus? maybe noise' }],
    [' non-sinus', { kind: 'not sinus', text: ' non-sinus' }],
    ['looks ectopic', { kind: 'comment', text: 'looks ectopic' }],
  ])('with the comment %j counts as it did then', (text, after) => {
    const change: Part['change'] = [{ op: 'note', before: null, after: note(text) }];
    expect(upgradeOf({ intent: 'comment', change }).change).toMatchObject([{ op: 'note', before: null, after }]);
    const flag: Part['change'] = [{ op: 'note', before: null, after: note(text, 'flag') }];
    expect(upgradeOf({ intent: 'flag', change: flag }).change).toEqual(flag);
  });

  test('that began a settlement names its two logs, and no longer gives a reason', () => {
    const reason = 'agreed by R1 (12 entries, 0123456789ab) as A and R2 (0 entries, untouched) as B';
    const entry = upgradeOf({ intent: 'settle', origin: 'both', reason });
    expect(entry.fact).toEqual({
      kind: 'settledLogs',
      a: { rater: 'R1', entries: 12, hash: '0123456789ab' },
      b: { rater: 'R2', entries: 0, hash: '' },
    });
    expect(entry).not.toHaveProperty('reason');
    expect(upgradeOf({ intent: 'settle', origin: 'A', reason })).toMatchObject({ reason, origin: 'A' });
  });

  test('that planned a spot check holds the plan', () => {
    const reason = 'spot check: share 0.05, seed 12, stretches of 2.5 s';
    const entry = upgradeOf({ recording: '', intent: 'look', reason });
    expect(entry.fact).toEqual({ kind: 'spotCheckPlan', share: 0.05, seed: 12, stretchSeconds: 2.5 });
  });

  test('keeps what a person wrote, and lets go of an origin that is none', () => {
    const reason = 'the strap slipped';
    expect(upgradeOf({ intent: 'reopen', reason }).reason).toBe(reason);
    expect(upgradeOf({ intent: 'settle', origin: 'R2' })).not.toHaveProperty('origin');
  });

  test('without anything to upgrade stays the same object', () => {
    const [entry] = oldLog({
      intent: 'move',
      change: [{ op: 'marks', removed: [s(10)], added: [s(12)] }],
      origin: 'A',
    });
    expect(upgradeEntry(entry!)).toBe(entry);
    const now = logs.append(logs.newLog(header), { at: '', recording: 'band', intent: 'look', change: [] }).entry;
    expect(upgradeEntry(now)).toBe(now);
  });
});

describe('a log of version 1', () => {
  const written = oldLog(
    set('only A: took A'),
    { change: [{ op: 'dismissal', before: dismissal('only A: took A'), after: null }], undoes: 0 },
    { intent: 'comment', change: [{ op: 'note', before: null, after: note('ectopic') }] },
  );
  const log: logs.EditLog = { header, entries: written.map(upgradeEntry) };

  test('holds its chain over what was written, and is handed on as it was written', () => {
    expect(logs.verifyChain(log)).toEqual({ ok: true });
    expect(log.entries.map(logs.asWritten)).toEqual(written);
    const forged = log.entries.with(1, { ...log.entries[1]!, written: { ...written[1]!, at: 'later' } });
    expect(logs.verifyChain({ header, entries: forged })).toMatchObject({ ok: false, seq: 1 });
  });

  test('goes on with entries of version 2 in one chain; undo and redo work across', () => {
    const state = logs.replay(log, detected);
    expect(state.recordings.get('band')).toMatchObject({ settlements: [], notes: [{ kind: 'not sinus' }] });
    const undone = logs.append(log, logs.undoDraft(log, state, '2026-02-15T10:00:00Z')!).log;
    expect(logs.verifyChain(undone)).toEqual({ ok: true });
    const after = logs.replay(undone, detected);
    expect(after.recordings.get('band')!.notes).toEqual([]);
    const again = logs.append(undone, logs.redoDraft(undone, after, '2026-02-15T10:00:01Z')!).log;
    expect(logs.replay(again, detected).recordings).toEqual(state.recordings);
    expect(again.entries.map(e => e.version)).toEqual([undefined, undefined, undefined, 2, 2]);
    expect(again.entries.at(-1)).not.toHaveProperty('written');
  });
});
