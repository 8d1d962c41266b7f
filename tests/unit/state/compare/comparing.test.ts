import { describe, expect, test } from 'vitest';
import type { Change } from '../../../../src/core/marks/edit';
import { append, type EditLog, newLog, replay } from '../../../../src/core/marks/log';
import { isRefusal } from '../../../../src/core/review/edits';
import { settle, settleDraft, settlementOf, startAdjudication } from '../../../../src/core/review/raters/settle';
import { settledLogs } from '../../../../src/core/review/raters/settled-logs';
import { planDraft, planOf } from '../../../../src/core/review/raters/spot-check';
import { detectedOf, logHeader } from '../../../../src/core/review/session';
import { sampleIndex } from '../../../../src/core/units';
import { createComparing } from '../../../../src/state/compare/comparing';
import { createReviewStore, reviewOf } from '../../../../src/state/review/review-store';
import { item } from '../../core/review/planted-reviews';
import { sessionWith } from '../../core/review/sample-session';

const session = sessionWith(item);
const id = item.recording.id;
const at = '2026-02-20T09:00:00.000Z';
const marks = (removed: number[], added: number[]): Change => [
  { op: 'marks', removed: removed.map(sampleIndex), added: added.map(sampleIndex) },
];

function finished(rater: string, ...changes: Change[]): EditLog {
  const drafts = changes.map(change => ({ at, recording: id, intent: 'insert' as const, change }));
  const all = [...drafts, { at, recording: '', intent: 'finish' as const, change: [] }];
  return all.reduce((log, draft) => append(log, draft).log, newLog(logHeader(session, rater)));
}

/** R1 takes out the beat at 250; R2 has one more at 600. The rest is as detected. */
const r1 = finished('R1', marks([250], []));
const r2 = finished('R2', marks([], [600]));

function workspace(own = newLog(logHeader(session, 'S1', 'adjudicator')), others = [r1, r2]) {
  const access = { writable: true, why: null };
  const review = createReviewStore(
    { session, log: own, others, access },
    async () => undefined,
    () => new Date(at),
  );
  return { review, comparing: createComparing(review, { rater: 'S1', role: 'adjudicator' }) };
}

function begun() {
  const { comparing } = workspace();
  const logs = comparing.logs()!;
  const comparisons = new Map([[id, comparing.comparisonOf(id)!] as const]);
  return workspace(startAdjudication({ session, logA: logs.a, logB: logs.b, comparisons }, 'S1', at));
}

// source: differences planted by hand.
describe('a comparison', () => {
  test('lists what was planted, and takes no edit before settling has begun', () => {
    const { comparing } = workspace();
    expect(comparing.comparisonOf(id)!.disagreements.map(d => [d.kind, d.at])).toEqual([
      ['only B', 250],
      ['only B', 600],
    ]);
    expect(comparing.admit(id, 'move', marks([250], []))).toEqual({ refused: 'Begin settling first.' });
  });

  test('admits edits only where the two differ, or in a stretch of the spot check', () => {
    const { comparing, review } = begun();
    expect(comparing.admit(id, 'move', marks([250], [252]))).toEqual(marks([250], [252]));
    expect(isRefusal(comparing.admit(id, 'move', marks([1050], [])))).toBe(true);
    const { at: _, ...plan } = planDraft(at, { share: 1, seed: 7, stretchSeconds: 2 });
    review.act(plan);
    const stretch = comparing.stretches(id).find(s => s.start <= 1050 && 1050 < s.end)!;
    expect(comparing.isChanged(id, stretch)).toBe(false);
    const change = comparing.admit(id, 'move', marks([1050], []));
    expect(change).toEqual(marks([1050], []));
    review.act({ recording: id, intent: 'delete', change: change as Change });
    expect(comparing.isChanged(id, stretch)).toBe(true);
  });

  test('an edit takes back the answer it overrules, and undo gives it again', () => {
    const { comparing, review } = begun();
    const comparison = comparing.comparisonOf(id)!;
    const d = comparison.disagreements[0]!;
    const now = () => reviewOf(review.get(), id);
    const { at: _, ...act } = settleDraft(at, id, { take: 'B' }, settle(comparison, now(), d, { take: 'B' }) as Change);
    review.act(act);
    expect(settlementOf(now(), d)?.take).toBe('B');
    review.act({ recording: id, intent: 'delete', change: comparing.admit(id, 'move', marks([250], [])) as Change });
    expect(settlementOf(now(), d)).toBeNull();
    review.undo();
    expect(settlementOf(now(), d)?.take).toBe('B');
  });

  test('a settlement stays with the logs it began with when one goes on, and names none that was rewritten', () => {
    const { review } = begun();
    const adjudicated = review.get().log;
    expect(settledLogs(adjudicated, [r1, r2])).toEqual({ a: r1, b: r2, grown: false });
    const longer = append(r1, { at, recording: '', intent: 'restart', change: [], reason: 'a second look' }).log;
    expect(settledLogs(adjudicated, [longer, r2])).toEqual({ a: r1, b: r2, grown: true });
    expect(settledLogs(adjudicated, [finished('R1'), r2])).toBeNull();
    expect(settledLogs(adjudicated, [r2])).toBeNull();
  });

  test('the spot check’s plan is read from the log as it was stated; the latest counts', () => {
    const first = { share: 0.05, seed: 12, stretchSeconds: 10 };
    const log = append(r1, planDraft(at, first)).log;
    const plan = (of: EditLog) => planOf(replay(of, detectedOf(session)));
    expect([plan(r1), plan(log)]).toEqual([null, first]);
    const second = { share: 1, seed: 3, stretchSeconds: 2.5 };
    expect(plan(append(log, planDraft(at, second)).log)).toEqual(second);
  });
});
