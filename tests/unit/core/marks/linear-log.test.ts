import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Change, Note, Operation, RecordingReview } from '../../../../src/core/marks/edit';
import * as logs from '../../../../src/core/marks/log';
import { marksFrom } from '../../../../src/core/marks/markset';
import type { SampleIndex, Span } from '../../../../src/core/units';
import { amount } from '../../amount';
import { seqsOf } from './stacks';

const detected = new Map([
  ['band', marksFrom([3, 10, 17, 24, 31])],
  ['logger', marksFrom([5, 15])],
]);
const header = { session: 's', rater: 'R1', detected: {}, role: 'rater' } as const;

type Plain = Omit<RecordingReview, 'marks' | 'notSinus'> & Record<'marks' | 'notSinus', readonly number[]>;

/** A review and its stacks as plain arrays that are copied for every entry. */
interface Copied {
  readonly recordings: Record<string, Plain>;
  readonly undoable: readonly number[];
  readonly redoable: readonly number[];
  readonly finished: boolean;
}

const notUndone = ['look', 'sign off', 'reopen', 'finish', 'restart'];

function copying(state: Copied, entry: logs.LogEntry): Copied {
  const recordings = { ...state.recordings };
  if (entry.change.length > 0) {
    const review = recordings[entry.recording];
    if (!review) throw new RangeError('unknown recording');
    recordings[entry.recording] = entry.change.reduce(changed, review);
  }
  const finished = entry.intent === 'finish' || (entry.intent !== 'restart' && state.finished);
  const { undoes, redoes, seq, intent } = entry;
  const without = (stack: readonly number[], n: number) =>
    stack.at(-1) === n ? stack.slice(0, -1) : stack.filter(s => s !== n);
  const { undoable, redoable } = state;
  if (undoes !== undefined) {
    return { recordings, finished, undoable: without(undoable, undoes), redoable: [...redoable, undoes] };
  }
  if (redoes !== undefined) {
    return { recordings, finished, undoable: [...undoable, redoes], redoable: without(redoable, redoes) };
  }
  if (notUndone.includes(intent)) return { recordings, finished, undoable, redoable };
  return { recordings, finished, undoable: [...undoable, seq], redoable: [] };
}

function changed(review: Plain, o: Operation): Plain {
  switch (o.op) {
    case 'marks':
    case 'notSinus':
      return { ...review, [o.op]: swapped(review[o.op], o.removed, o.added, m => [m, m]) };
    case 'unreadable':
    case 'accepted':
    case 'seen':
    case 'rhythmChecked': {
      const list = swapped(review[o.op], o.removed, o.added, s => [s.start, s.end]);
      const loose = list.some((s, i) => s.end <= s.start || (list[i + 1]?.start ?? Infinity) <= s.end);
      if (loose) throw new RangeError('not normalised');
      return { ...review, [o.op]: list };
    }
    case 'note':
      return {
        ...review,
        notes: swappedByName(
          review.notes,
          o,
          n => n.id,
          n => n.start,
        ),
      };
    case 'dismissal': {
      const dismissals = swappedByName(
        review.dismissals,
        o,
        d => `${d.reason}@${d.at}`,
        d => d.at,
      );
      return { ...review, dismissals };
    }
    case 'signOff':
      return {
        ...review,
        signOffs: swappedByName(
          review.signOffs,
          o,
          s => s.segment,
          () => 0,
        ),
      };
    case 'settlement': {
      const settlements = swappedByName(
        review.settlements,
        o,
        s => `${s.kind} ${s.take}@${s.at}`,
        s => s.at,
      );
      return { ...review, settlements };
    }
    case 'spotCheck':
      return {
        ...review,
        spotChecks: swappedByName(
          review.spotChecks,
          o,
          s => `${s.outcome}@${s.at}`,
          s => s.at,
        ),
      };
    case 'hint':
      return {
        ...review,
        hints: swappedByName(
          review.hints,
          o,
          h => `hint@${h.at}`,
          h => h.at,
        ),
      };
    case 'samplePlan': {
      const plans = swappedByName(
        review.samplePlans,
        o,
        p => p.segment ?? '',
        () => 0,
      );
      return { ...review, samplePlans: plans };
    }
    case 'sampled': {
      const sampled = swappedByName(
        review.sampled,
        o,
        e => `${e.start}-${e.end}`,
        e => e.place,
      );
      return { ...review, sampled };
    }
  }
}

function swapped<T>(list: readonly T[], removed: readonly T[], added: readonly T[], ends: (t: T) => number[]): T[] {
  const name = (t: T) => ends(t).join();
  let out = [...list];
  for (const r of removed) {
    if (!out.some(t => name(t) === name(r))) throw new RangeError('not there');
    out = out.filter(t => name(t) !== name(r));
  }
  for (const a of added) {
    if (out.some(t => name(t) === name(a))) throw new RangeError('there already');
    out = [...out, a].sort((x, y) => ends(x)[0]! - ends(y)[0]!);
  }
  return out;
}

function swappedByName<T>(
  list: readonly T[],
  { before, after }: { readonly before: T | null; readonly after: T | null },
  name: (t: T) => string,
  at: (t: T) => number,
): T[] {
  const kept = before === null ? [...list] : list.filter(t => name(t) !== name(before));
  if (before !== null && kept.length === list.length) throw new RangeError('not there');
  if (after === null) return kept;
  if (kept.some(t => name(t) === name(after))) throw new RangeError('there already');
  return [...kept, after].sort((x, y) => at(x) - at(y) || (name(x) < name(y) ? -1 : 1));
}

const place = fc.integer({ min: 0, max: 39 }).map(n => n as SampleIndex);
const places = fc.uniqueArray(place, { maxLength: 2 });
const spans: fc.Arbitrary<Span[]> = fc.array(
  fc.tuple(place, fc.integer({ min: 0, max: 6 })).map(([start, n]) => ({ start, end: (start + n) as SampleIndex })),
  { maxLength: 2 },
);
const note: fc.Arbitrary<Note> = fc.record({
  id: fc.constantFrom('n1', 'n2', 'n3'),
  kind: fc.constantFrom('comment' as const, 'flag' as const),
  start: place,
  end: place,
  text: fc.constantFrom('', 'x'),
});
const dismissal = fc.record({ reason: fc.constantFrom('long interval', 'noise'), at: place });
const signOff = fc.record({
  segment: fc.constantFrom('rest', 'uphill walk'),
  at: fc.constant('2026-02-14T10:00:00Z'),
  reason: fc.constant(null),
});
const few = fc.constantFrom(3, 10, 17).map(n => n as SampleIndex);
const settlement = fc.record({
  kind: fc.constantFrom('only A' as const, 'span differs' as const),
  at: few,
  take: fc.constantFrom('A' as const, 'new' as const),
});
const spotCheck = fc.record({ at: few, outcome: fc.constantFrom('confirmed' as const, 'changed' as const) });
const hint = fc.record({ at: few });
const sampled = fc.record({
  start: few,
  end: fc.constant(40 as SampleIndex),
  outcome: fc.constantFrom('reviewed' as const, 'skipped' as const),
  drawn: fc.boolean(),
  place: fc.integer({ min: 0, max: 2 }),
});
const maybe = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: null });
const operation: fc.Arbitrary<Operation> = fc.oneof(
  fc.record({ op: fc.constantFrom('marks' as const, 'notSinus' as const), removed: places, added: places }),
  fc.record({
    op: fc.constantFrom('unreadable' as const, 'accepted' as const, 'seen' as const, 'rhythmChecked' as const),
    removed: spans,
    added: spans,
  }),
  fc.record({ op: fc.constant('note' as const), before: maybe(note), after: maybe(note) }),
  fc.record({ op: fc.constant('dismissal' as const), before: maybe(dismissal), after: maybe(dismissal) }),
  fc.record({ op: fc.constant('signOff' as const), before: maybe(signOff), after: maybe(signOff) }),
  fc.record({ op: fc.constant('settlement' as const), before: maybe(settlement), after: maybe(settlement) }),
  fc.record({ op: fc.constant('spotCheck' as const), before: maybe(spotCheck), after: maybe(spotCheck) }),
  fc.record({ op: fc.constant('hint' as const), before: maybe(hint), after: maybe(hint) }),
  fc.record({ op: fc.constant('sampled' as const), before: maybe(sampled), after: maybe(sampled) }),
);
const draft: fc.Arbitrary<logs.Draft> = fc
  .record({
    recording: fc.constantFrom('band', 'band', 'logger'),
    intent: fc.constantFrom<logs.Intent>('insert', 'comment', 'look', 'sign off', 'finish', 'restart'),
    change: fc.array(operation, { maxLength: 2 }),
    stack: fc.constantFrom('undoes', 'redoes', null, null),
    which: fc.integer({ min: 0, max: 9 }),
  })
  .map(({ stack, which, ...rest }) => ({ at: '2026-02-14T10:00:00Z', ...rest, ...(stack ? { [stack]: which } : {}) }));

/** What replaying did: the state after the last entry that fitted. */
function plainly<T>(work: () => T): T | null {
  try {
    return work();
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

const shown = ({ recordings, undoable, redoable, finished }: logs.Replayed) => ({
  recordings: Object.fromEntries(
    [...recordings].map(([id, r]) => [id, { ...r, marks: [...r.marks], notSinus: [...r.notSinus] }]),
  ),
  undoable: seqsOf(undoable),
  redoable: seqsOf(redoable),
  finished,
});

// source: the slow model above, which copies every list for every entry.
describe('replaying in place', () => {
  test('and entry by entry comes to what copying everything comes to, whatever the entries', () => {
    fc.assert(
      fc.property(fc.array(draft, { maxLength: 40 }), drafts => {
        let log = logs.newLog(header);
        let state = logs.startReplay(detected);
        let copied: Copied = { ...shown(state) };
        for (const d of drafts) {
          const next = logs.append(log, d);
          const slow = plainly(() => copying(copied, next.entry));
          const fast = plainly(() => logs.advance(state, next.entry));
          expect(fast === null).toBe(slow === null);
          const whole = logs.tryReplay(next.log, detected);
          // What does not fit is left out, so that the next one meets a state that holds something.
          if (!slow || !fast) {
            expect(whole).toMatchObject({ seq: next.entry.seq });
            continue;
          }
          log = next.log;
          state = fast;
          copied = slow;
          expect(shown(state)).toEqual(copied);
          expect('replayed' in whole && shown(whole.replayed)).toEqual(copied);
        }
      }),
      { numRuns: amount(300, 40) },
    );
  });

  test('leaves the marks it started from alone', () => {
    const before = [...detected.get('band')!];
    const change: Change = [{ op: 'marks', removed: [10 as SampleIndex], added: [12 as SampleIndex] }];
    const log = logs.append(logs.newLog(header), { at: '', recording: 'band', intent: 'move', change }).log;
    expect([...logs.replay(log, detected).recordings.get('band')!.marks]).toEqual([3, 12, 17, 24, 31]);
    expect([...detected.get('band')!]).toEqual(before);
  });
});

describe('appending', () => {
  const look = (recording: string) => ({ at: '2026-02-14T10:00:00Z', recording, intent: 'look', change: [] }) as const;

  test('leaves every earlier log as it was, also where two go on from the same one', () => {
    const empty = logs.newLog(header);
    const one = logs.append(empty, look('band')).log;
    const two = logs.append(one, look('band')).log;
    const other = logs.append(one, look('logger')).log;
    const three = logs.append(two, look('logger')).log;
    expect([empty, one, two, other, three].map(l => l.entries.length)).toEqual([0, 1, 2, 2, 3]);
    expect(other.entries[1]!.recording).toBe('logger');
    expect(two.entries[1]!.recording).toBe('band');
    for (const log of [one, two, other, three]) expect(logs.verifyChain(log)).toEqual({ ok: true });
  });

  test('a log copied into a worker, spread, or written as JSON has its own entries and no later ones', () => {
    const one = logs.append(logs.newLog(header), look('band')).log;
    const [cloned, spread] = [structuredClone(one), { ...one }];
    logs.append(one, look('logger'));
    expect(cloned.entries).toHaveLength(1);
    expect(one.entries).toHaveLength(1);
    expect(JSON.parse(JSON.stringify(one)).entries).toHaveLength(1);
    // A plain copy keeps the array itself, which may have grown: the log is to be kept.
    expect(spread.entries[0]).toBe(one.entries[0]);
  });
});
