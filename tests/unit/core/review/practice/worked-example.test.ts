import { expect, test } from 'vitest';
import { replay, verifyChain } from '../../../../../src/core/marks/log';
import { gradeReview } from '../../../../../src/core/review/practice/practice';
import { simulatedLesson } from '../../../../../src/core/review/practice/practice-lesson';
import { workedLog } from '../../../../../src/core/review/practice/worked-example';
import { isFinished } from '../../../../../src/core/review/raters/blind';
import { detectedOf } from '../../../../../src/core/review/session';
import { workedExample } from '../../../../../src/state/practice/task';

// source: the mistakes planted in the lesson of that seed.
test('the worked example puts every planted mistake right and nothing else', () => {
  const lesson = simulatedLesson(workedExample);
  const log = workedLog(lesson, 'L1');
  expect(verifyChain(log)).toEqual({ ok: true });
  expect(isFinished(log)).toBe(true);
  const review = replay(log, detectedOf(lesson.session)).recordings.get(lesson.item.recording.id)!;
  const { summary } = gradeReview(lesson.item, lesson.key, review, lesson.session.settings);
  expect(summary.planted).toBeGreaterThan(3);
  expect(summary).toMatchObject({ found: summary.planted, falseAlarms: 0, hints: 0, points: summary.maxPoints });
});
