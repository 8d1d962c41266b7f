import { describe, expect, test } from 'vitest';
import * as logs from '../../../../../src/core/marks/log';
import { simulatedLesson } from '../../../../../src/core/review/practice/practice-lesson';
import { practiceResults } from '../../../../../src/core/review/practice/practice-results';
import { logHeader } from '../../../../../src/core/review/session';
import * as progress from '../../../../../src/core/review/standing/progress';

function entry(points: number, part: Partial<progress.ProgressEntry> = {}): progress.ProgressEntry {
  return {
    lesson: 'mixed',
    seed: 's',
    difficulty: 2,
    at: '2026-02-20T09:00:00Z',
    points,
    maxPoints: 100,
    falseAlarms: 0,
    hints: 0,
    seconds: 60,
    byKind: {},
    logHash: `${points}-${part.at ?? ''}`,
    ...part,
  };
}

const one = (planted: number, found: number) => ({ planted, found, overlooked: planted - found, wronglyPlaced: 0 });

// source: the rules of practice in this project; worked out by hand.
describe('progress', () => {
  test('is kept by time, and the same results are not counted twice', () => {
    const late = entry(50, { at: '2026-02-21T09:00:00Z' });
    const early = entry(40);
    const list = progress.addProgress(progress.addProgress([], late), early);
    expect(list).toEqual([early, late]);
    expect(progress.addProgress(list, early)).toBe(list);
    expect(progress.progressLine(list, 'mixed').map(p => p.share)).toEqual([0.4, 0.5]);
    expect(progress.progressLine(list, 'in-noise')).toEqual([]);
    expect(progress.progressLine(list, null)).toHaveLength(2);
  });

  test('comes from results; a log without acts gives none', () => {
    const lesson = simulatedLesson({ id: 'missed-peaks', seed: 's', difficulty: 1 });
    const empty = logs.newLog(logHeader(lesson.session, 'L01', 'learner'));
    expect(progress.progressEntry(practiceResults(lesson, empty))).toBeNull();
    const at = '2026-02-20T09:30:00Z';
    const log = logs.append(empty, { at, recording: '', intent: 'finish', change: [] }).log;
    const planted = lesson.key.places.length;
    expect(progress.progressEntry(practiceResults(lesson, log))).toMatchObject({
      lesson: 'missed-peaks',
      at,
      points: 0,
      seconds: null,
      byKind: { missed: one(planted, 0) },
    });
  });

  test('share found by kind, over the last lessons only', () => {
    const list = [
      entry(1, { byKind: { missed: one(10, 0) } }),
      entry(2, { byKind: { missed: one(4, 3), extra: one(2, 2) } }),
      entry(3, { byKind: { missed: one(4, 4) } }),
    ];
    const found = progress.foundByKind(list, 2);
    expect(found.missed).toEqual({ value: 7 / 8, n: 8 });
    expect(found.extra).toEqual({ value: 1, n: 2 });
    expect(found.unreadable).toEqual({ value: null, reason: 'none met yet' });
  });

  test('difficulty: up after two good ones at a level, down after a poor one, within 1 to 5', () => {
    const next = (...list: progress.ProgressEntry[]) => progress.nextDifficulty(list, 'mixed');
    expect(next()).toBe(1);
    expect(next(entry(90))).toBe(2);
    expect(next(entry(85), entry(85))).toBe(3);
    expect(next(entry(84), entry(90))).toBe(2);
    expect(next(entry(90, { difficulty: 1 }), entry(90))).toBe(2);
    expect(next(entry(90), entry(90, { lesson: 'in-noise' }))).toBe(2);
    expect(next(entry(49))).toBe(1);
    expect(next(entry(10, { difficulty: 1 }))).toBe(1);
    expect(next(entry(99, { difficulty: 5 }), entry(99, { difficulty: 5 }))).toBe(5);
  });
});
