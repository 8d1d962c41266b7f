import { describe, expect, test } from 'vitest';
import { append, type EditLog, newLog } from '../../../../../src/core/marks/log';
import { firstEntries, pairAgreement, raterProgress } from '../../../../../src/core/review/raters/rater-progress';
import { logHeader, type Session } from '../../../../../src/core/review/session';
import { sampleIndex, span } from '../../../../../src/core/units';
import { recordingWith, sessionWith } from '../sample-session';

const segments = [
  ['rest', 0, 1000],
  ['uphill run', 1000, 2000],
] as const;
const beats = Array.from({ length: 20 }, (_, i) => 50 + 100 * i);
const session: Session = sessionWith(
  recordingWith({ detected: beats, sampleCount: 2000, segments: segments.map(([a, b, c]) => [a, b, c]) }),
);

type Step = readonly [at: string, intent: 'look' | 'delete', removedOrEnd: number];

function logOf(rater: string, steps: readonly Step[]): EditLog {
  return steps.reduce<EditLog>(
    (log, [at, intent, n]) => {
      const change =
        intent === 'look'
          ? [{ op: 'seen' as const, removed: [], added: [span(0, n)] }]
          : [{ op: 'marks' as const, removed: [sampleIndex(n)], added: [] }];
      return append(log, { at, recording: 'chest-band', intent, change }).log;
    },
    newLog(logHeader(session, rater)),
  );
}

/** A review in which everything was looked at, and these marks taken out. */
function wholeLog(rater: string, removed: readonly number[]): EditLog {
  const at = '2026-02-14T09:00:00.000Z';
  const change = (['seen', 'accepted'] as const).map(op => ({ op, removed: [], added: [span(0, 2000)] }));
  const looked = append(newLog(logHeader(session, rater)), { at, recording: 'chest-band', intent: 'look', change }).log;
  return removed.reduce<EditLog>((log, mark) => {
    const own = [{ op: 'marks' as const, removed: [sampleIndex(mark)], added: [] }];
    return append(log, { at, recording: 'chest-band', intent: 'delete', change: own }).log;
  }, looked);
}

describe('how far a rater is', () => {
  test('counts entries, time without pauses and what was looked at', () => {
    const log = logOf('R1', [
      ['2026-02-14T09:00:00.000Z', 'look', 500],
      ['2026-02-14T09:01:30.000Z', 'delete', 50],
      // Lunch, which is no work; and a clock that was set back.
      ['2026-02-14T10:00:00.000Z', 'delete', 150],
      ['2026-02-14T09:59:00.000Z', 'delete', 250],
      ['2026-02-14T10:00:00.000Z', 'delete', 350],
    ]);
    const progress = raterProgress(session, log);
    expect(progress).toMatchObject({
      entries: 5,
      signedOffSegments: 0,
      segments: 2,
      lastAt: '2026-02-14T10:00:00.000Z',
    });
    expect(progress.minutes).toBeCloseTo(1.5 + 1, 9);
    // 5 of 20 s were seen, and 4 of 20 marks judged: the smaller share counts.
    expect(progress.lookedAtShare).toBeCloseTo(0.2, 9);
    expect(progress.marksLeft).toBe(16);
  });

  test('weighs recordings by their length', () => {
    const long = recordingWith({ detected: [], sampleCount: 6000, id: 'adhesive-logger' });
    const both = sessionWith(session.recordings[0]!, long);
    const start = newLog(logHeader(both, 'R1'));
    const change = (['seen', 'accepted'] as const).map(op => ({ op, removed: [], added: [span(0, 2000)] }));
    const { log } = append(start, { at: '2026-02-14T09:00:00.000Z', recording: 'chest-band', intent: 'look', change });
    // All of 20 s, nothing of 60 s.
    expect(raterProgress(both, log).lookedAtShare).toBeCloseTo(0.25, 9);
  });

  test('an empty log is nothing yet', () => {
    expect(raterProgress(session, logOf('R1', []))).toEqual({
      entries: 0,
      lookedAtShare: 0,
      sampled: null,
      marksLeft: 20,
      signedOffSegments: 0,
      segments: 2,
      recordedSeconds: 20,
      lastAt: null,
      minutes: 0,
    });
  });
});

describe('agreement of two raters of a session', () => {
  // source: counted by hand; F1 = 2 x agreed / (beats of A + beats of B), kappa by Cohen 1960
  test('counts over all recordings, and only what was signed off', () => {
    const at = '2026-02-14T09:00:00.000Z';
    const a = logOf('R1', [[at, 'delete', 50]]);
    const b = logOf('R2', [
      [at, 'delete', 50],
      [at, 'delete', 150],
    ]);
    const later = pairAgreement(session, a, b);
    expect(later.f1).toMatchObject({ value: 36 / 37, n: 37 });
    // A: 19 kept, 1 removed; B: 18 kept, 2 removed; 19 of 20 alike.
    const chance = (19 / 20) * (18 / 20) + (1 / 20) * (2 / 20);
    expect(later.kappa.value).toBeCloseTo((19 / 20 - chance) / (1 - chance), 9);
    expect(later.qualityDifference).toEqual({ value: null, reason: 'not all of it was looked at' });
    expect(later.disagreements).toBe(1);
    expect(pairAgreement(session, a, firstEntries(b, 1)).f1.value).toBe(1);
  });

  test('the difference in quality is that of all intervals together, and none where nothing can be judged', () => {
    // Two segments of 10 beats: 18 intervals, all right by A; by B one of 17 is wrong, over the mark that is no beat.
    const difference = (b: EditLog) => pairAgreement(session, wholeLog('R1', []), b).qualityDifference;
    expect(difference(wholeLog('R2', [550]))).toEqual({ value: expect.closeTo(100 - 1600 / 17, 9), n: 17 });
    expect(difference(wholeLog('R2', [50]))).toEqual({ value: expect.closeTo(0, 9), n: 17 });
    const none = sessionWith(recordingWith({ detected: [], sampleCount: 2000, segments: [['rest', 0, 1000]] }));
    const empty = (rater: string) => newLog(logHeader(none, rater));
    expect(pairAgreement(none, empty('R1'), empty('R2')).qualityDifference).toMatchObject({ value: null });
  });
});
