import { describe, expect, test } from 'vitest';
import { type LogEntry, newLog, verifyChain } from '../../../../src/core/marks/log';
import { marksFrom } from '../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import { logHeader, type Session } from '../../../../src/core/review/session';
import { sampleIndex } from '../../../../src/core/units';
import { createReviewStore, reviewOf } from '../../../../src/state/review/review-store';

const session: Session = {
  id: 'S1',
  title: 'S1',
  participant: 'V01',
  settings: defaultMatchSettings,
  recordings: [
    {
      recording: {
        id: 'band',
        recorder: 'chest band',
        samplingRateHz: 100,
        sampleCount: 1000,
        startedAt: null,
        leads: [],
        gaps: [],
        source: 'invented',
      },
      detected: marksFrom([100, 200, 300]),
      detectedBy: 'the recorder',
      segments: [],
    },
  ],
};

const insert = (at: number) => ({
  recording: 'band',
  intent: 'insert' as const,
  change: [{ op: 'marks' as const, removed: [], added: [sampleIndex(at)] }],
});

function open(keep: (entry: LogEntry) => Promise<void>, writable = true) {
  let tick = 0;
  return createReviewStore(
    {
      session,
      log: newLog(logHeader(session, 'R1')),
      others: [],
      access: { writable, why: writable ? null : 'open elsewhere' },
    },
    (_log, entry) => keep(entry),
    () => new Date(Date.UTC(2026, 0, 1, 0, 0, tick++)),
  );
}

describe('review store', () => {
  test('who only looks leaves no log; the first act brings what came before it, in order', async () => {
    const kept: LogEntry[] = [];
    const look = { recording: 'band', intent: 'look', change: [] } as const;
    const fact = { kind: 'unblinded', by: 'report', raters: ['R2'] } as const;
    const first = [{ at: '2026-01-01T00:00:00Z', recording: '', intent: 'unblind', change: [], fact } as const];
    const log = newLog(logHeader(session, 'R1'));
    const start = { session, log, others: [], access: { writable: true, why: null }, first };
    const store = createReviewStore(
      start,
      async (_log, entry) => void kept.push(entry),
      () => new Date(0),
    );
    store.act(look);
    await store.settled();
    expect(kept).toEqual([]);
    expect(store.get().saving).toEqual({ waiting: 0, failure: null });
    store.act(insert(150));
    await store.settled();
    expect(kept.map(e => e.intent)).toEqual(['unblind', 'look', 'insert']);
    expect(kept[0]).toMatchObject({ at: '2026-01-01T00:00:00Z', fact });
    store.act(look);
    await store.settled();
    expect(kept.map(e => e.seq)).toEqual([0, 1, 2, 3]);
  });

  test('shows an act at once and keeps entries in order', async () => {
    const kept: LogEntry[] = [];
    const store = open(async entry => void kept.push(entry));
    expect(store.act(insert(150))).toBe(true);
    expect(store.act(insert(250))).toBe(true);
    expect([...reviewOf(store.get(), 'band').marks]).toEqual([100, 150, 200, 250, 300]);
    expect(store.get().saving.waiting).toBe(2);
    await store.settled();
    expect(kept.map(e => e.seq)).toEqual([0, 1]);
    expect(store.get().saving).toEqual({ waiting: 0, failure: null });
    expect(verifyChain(store.get().log)).toEqual({ ok: true });
  });

  test('a failure holds back what follows, is reported, and retrying keeps all in order', async () => {
    const kept: number[] = [];
    let broken = true;
    const store = open(async entry => {
      if (broken) throw new Error('no room');
      kept.push(entry.seq);
    });
    store.act(insert(150));
    await store.settled();
    store.act(insert(250));
    await store.settled();
    expect(store.get().saving).toEqual({ waiting: 2, failure: 'no room' });
    expect([...reviewOf(store.get(), 'band').marks]).toEqual([100, 150, 200, 250, 300]);
    broken = false;
    store.retry();
    await store.settled();
    expect(kept).toEqual([0, 1]);
    expect(store.get().saving).toEqual({ waiting: 0, failure: null });
  });

  test('undo and redo append, and never shorten the log', async () => {
    const store = open(async () => undefined);
    store.act(insert(150));
    expect(store.undo()).toBe(true);
    expect([...reviewOf(store.get(), 'band').marks]).toEqual([100, 200, 300]);
    expect(store.redo()).toBe(true);
    expect([...reviewOf(store.get(), 'band').marks]).toEqual([100, 150, 200, 300]);
    expect(store.get().log.entries).toHaveLength(3);
    expect(store.redo()).toBe(false);
  });

  test('takes no edits when read only or finished', () => {
    expect(open(async () => undefined, false).act(insert(150))).toBe(false);
    const store = open(async () => undefined);
    store.act({ recording: '', intent: 'finish', change: [] });
    expect(store.act(insert(150))).toBe(false);
    expect(store.undo()).toBe(false);
    store.act({ recording: '', intent: 'restart', change: [], reason: 'one more look' });
    expect(store.act(insert(150))).toBe(true);
  });
});
