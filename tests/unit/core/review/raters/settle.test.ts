import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { RecordingReview } from '../../../../../src/core/marks/edit';
import * as logs from '../../../../../src/core/marks/log';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import { isRefusal } from '../../../../../src/core/review/edits';
import { type Comparison, compareRaters } from '../../../../../src/core/review/raters/compare';
import * as settling from '../../../../../src/core/review/raters/settle';
import { isPassThrough } from '../../../../../src/core/review/raters/settled-logs';
import * as spot from '../../../../../src/core/review/raters/spot-check';
import { detectedOf, logHeader } from '../../../../../src/core/review/session';
import { scoresByLog } from '../../../../../src/core/review/standing/sources';
import { sampleIndex, span } from '../../../../../src/core/units';
import { anyReview, type Given, item, review } from '../planted-reviews';
import { sessionWith } from '../sample-session';

const session = sessionWith(item);
const id = item.recording.id;
const at = '2026-02-20T09:00:00.000Z';

function begin(a: Given, b: Given) {
  const pair = { item, a: review(a), b: review(b), settings: defaultMatchSettings };
  const comparison = compareRaters(pair);
  const logA = logs.newLog(logHeader(session, 'R1'));
  const logB = logs.newLog(logHeader(session, 'R2'));
  const log = settling.startAdjudication({ session, logA, logB, comparisons: new Map([[id, comparison]]) }, 'S1', at);
  return { comparison, log };
}

const reviewIn = (log: logs.EditLog): RecordingReview => logs.replay(log, detectedOf(session)).recordings.get(id)!;

function settleOne(log: logs.EditLog, c: Comparison, i: number, choice: settling.Choice, reason?: string) {
  const built = settling.settle(c, reviewIn(log), c.disagreements[i]!, choice);
  if (built === null || isRefusal(built)) throw new Error(JSON.stringify(built));
  return logs.append(log, settling.settleDraft(at, id, choice, built, reason)).log;
}

function settleAll(start: ReturnType<typeof begin>, take: 'A' | 'B') {
  return start.comparison.disagreements.reduce((log, _, i) => settleOne(log, start.comparison, i, { take }), start.log);
}

// source: planted disagreements; every settled state is written out by hand.
describe('settling', () => {
  // Both insert 600 and remove 50. A keeps 250, B removes it. B has 1150 at 1170. A calls [1400, 1600) unreadable.
  const a: Given = { without: [50], with: [600], unreadable: [[1400, 1600]] };
  const b: Given = { without: [50, 250, 1150], with: [600, 1170] };
  const start = begin(a, b);

  test('agreed marks pass through first, with the two logs named', () => {
    const entry = start.log.entries[0]!;
    expect(start.log.header).toMatchObject({ rater: 'S1', role: 'adjudicator' });
    expect(entry).toMatchObject({
      intent: 'settle',
      origin: 'both',
      fact: {
        kind: 'settledLogs',
        a: { rater: 'R1', entries: 0, hash: logs.lastHash(logs.newLog(logHeader(session, 'R1'))) },
        b: { rater: 'R2', entries: 0, hash: logs.lastHash(logs.newLog(logHeader(session, 'R2'))) },
      },
    });
    expect(entry.change).toEqual([{ op: 'marks', removed: [50], added: [600] }]);
    expect(settling.unsettled(start.comparison, reviewIn(start.log)).map(d => [d.kind, d.at])).toEqual([
      ['only A', 250],
      ['placed apart', 1150],
      ['span differs', 1400],
    ]);
  });

  test('take A, take B, place again; origin and reason stand in the log, replay gives the result', () => {
    let log = settleOne(start.log, start.comparison, 0, { take: 'B' }, ' T wave ');
    log = settleOne(log, start.comparison, 1, { take: 'new', marks: [sampleIndex(1160)], unreadable: [] });
    log = settleOne(log, start.comparison, 2, { take: 'A' });
    expect(log.entries.map(e => [e.origin, e.reason])).toEqual([
      ['both', start.log.entries[0]!.reason],
      ['B', 'T wave'],
      ['new', undefined],
      ['A', undefined],
    ]);
    expect(log.entries.map(isPassThrough)).toEqual([true, false, false, false]);
    const settled = reviewIn(log);
    expect([...settled.marks].filter(m => m < 1300)).toEqual([
      150, 350, 450, 550, 600, 650, 750, 850, 950, 1050, 1160, 1250,
    ]);
    expect(settled.unreadable).toEqual([span(1400, 1600)]);
    expect(settling.unsettled(start.comparison, settled)).toEqual([]);
    expect(settling.settlementOf(settled, start.comparison.disagreements[1]!)).toEqual({
      kind: 'placed apart',
      at: 1150,
      take: 'new',
    });
    expect(logs.verifyChain(log)).toEqual({ ok: true });
    expect(reviewIn(JSON.parse(JSON.stringify(log)) as logs.EditLog)).toEqual(settled);
  });

  test('settling again replaces the first answer, and undo brings it back', () => {
    const first = settleOne(start.log, start.comparison, 1, {
      take: 'new',
      marks: [sampleIndex(1165)],
      unreadable: [span(1172, 1180)],
    });
    const second = settleOne(first, start.comparison, 1, { take: 'B' });
    expect([...reviewIn(second).marks]).toContain(1170);
    expect([...reviewIn(second).marks]).not.toContain(1165);
    expect(reviewIn(second).unreadable).toEqual([]);
    expect(
      settling.settle(start.comparison, reviewIn(second), start.comparison.disagreements[1]!, { take: 'B' }),
    ).toBeNull();
    const state = logs.replay(second, detectedOf(session));
    const undone = logs.append(second, logs.undoDraft(second, state, at)!).log;
    expect(reviewIn(undone)).toEqual(reviewIn(first));
  });

  test('an answer cannot reach into what belongs to other beats', () => {
    const far = { take: 'new', marks: [sampleIndex(1250)], unreadable: [] } as const;
    const wide = { take: 'new', marks: [], unreadable: [span(1100, 1300)] } as const;
    for (const choice of [far, wide]) {
      const built = settling.settle(start.comparison, reviewIn(start.log), start.comparison.disagreements[1]!, choice);
      expect(isRefusal(built)).toBe(true);
    }
  });

  test('scores say whose they are', () => {
    const scores = scoresByLog(session, settleAll(start, 'A'));
    expect(scores).toMatchObject({ source: 'adjudicated by S1, not finished', rater: 'S1', role: 'adjudicator' });
    expect(scores.scores.get(id)!.total.counts.right).toBe(start.comparison.scoreA.total.counts.right);
    const own = logs.append(logs.newLog(logHeader(session, 'R1')), {
      at,
      recording: '',
      intent: 'finish',
      change: [],
    }).log;
    expect(scoresByLog(session, own).source).toBe('R1');
  });
});

describe('properties', () => {
  // source: the definition of settling: taking one rater's side throughout must give that rater's review.
  test('taking A throughout gives A’s counts; taking B gives B’s beats and spans', () => {
    fc.assert(
      fc.property(anyReview, anyReview, (a, b) => {
        const start = begin(a, b);
        const asA = scoresByLog(session, settleAll(start, 'A')).scores.get(id)!;
        asA.segments.forEach((s, i) => {
          const { unreadableSeconds: _, ...counts } = s.counts;
          expect(start.comparison.scoreA.segments[i]!.counts).toMatchObject(counts);
        });
        const settledB = reviewIn(settleAll(start, 'B'));
        const again = compareRaters({ ...start.comparison.pair, a: settledB });
        expect(again.disagreements).toEqual([]);
        expect(again.total).toMatchObject({ onlyA: 0, onlyB: 0, placedApart: 0 });
      }),
      { numRuns: 60, seed: 20260218 },
    );
  });
});

describe('spot check of agreed stretches', () => {
  const start = begin({ without: [250] }, {});
  const c = start.comparison;
  const plan = { share: 0.25, seed: 7, stretchSeconds: 2 };

  test('agreed stretches hold no disputed sample and keep to their segment', () => {
    // rest: five of 2 s, [200, 400) disputed around 250; uphill run: five of 2 s and a rest of 1 s.
    expect(spot.agreedStretches(c, 2).map(s => s.start)).toEqual([0, 400, 600, 800, 1000, 1200, 1400, 1600, 1800]);
    expect(
      spot.agreedStretches(begin({ unreadable: [[400, 800]] }, { unreadable: [[400, 800]] }).comparison, 2),
    ).toHaveLength(8);
  });

  test('the seed decides which, the share how many', () => {
    const drawn = spot.spotCheckStretches(c, plan);
    expect(drawn).toHaveLength(3); // a quarter of nine, rounded up
    expect(spot.spotCheckStretches(c, plan)).toEqual(drawn);
    expect(spot.spotCheckStretches(c, { ...plan, share: 0 })).toEqual([]);
    expect(spot.spotCheckStretches(c, { ...plan, share: 1 })).toEqual(spot.agreedStretches(c, 2));
    const others = Array.from({ length: 20 }, (_, seed) =>
      JSON.stringify(spot.spotCheckStretches(c, { ...plan, seed })),
    );
    expect(new Set(others).size).toBeGreaterThan(5);
  });

  test('outcomes are recorded and reported as k of n', () => {
    const drawn = spot.spotCheckStretches(c, { ...plan, share: 1 });
    let log = start.log;
    drawn.slice(0, 5).forEach((s, i) => {
      const change = spot.recordOutcome(reviewIn(log), s, i === 0 ? 'changed' : 'confirmed')!;
      log = logs.append(log, { at, recording: id, intent: 'settle', change, origin: i === 0 ? 'new' : 'both' }).log;
    });
    const report = spot.spotCheckReport(c, { ...plan, share: 1 }, reviewIn(log));
    expect(report).toMatchObject({ agreedStretches: 9, drawn: 9, checked: 5, changed: 1 });
    // source: Wilson 1927 without continuity correction, worked out by hand for 1 of 5, z = 1.959964.
    expect(report.changedInterval95![0]).toBeCloseTo(0.03622, 4);
    expect(report.changedInterval95![1]).toBeCloseTo(0.62447, 4);
    expect(spot.recordOutcome(reviewIn(log), drawn[0]!, 'changed')).toBeNull();
    expect(spot.outcomeOf(reviewIn(log), drawn[0]!)).toBe('changed');
    expect(spot.spotCheckReport(c, plan, start.comparison.pair.a).changedInterval95).toBeNull();
  });
});
