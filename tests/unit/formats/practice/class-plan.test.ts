import { expect, test } from 'vitest';
import type { ClassPlan } from '../../../../src/core/review/practice/class-plan';
import { FormatError } from '../../../../src/formats/format-error';
import { classPlanText, readClassPlan } from '../../../../src/formats/practice/class-plan';
import { pathOfPlan, planOfPath } from '../../../../src/state/practice/class-files';
import { hashOfScreen, screenFromHash } from '../../../../src/state/stores/ui-store';

const plan: ClassPlan = {
  title: 'Course 3/4, “spring”',
  lessons: [
    { id: 'mixed', seed: 'class-a', difficulty: 2 },
    { id: 'in-noise', seed: 'b', difficulty: 5 },
  ],
  inOrder: false,
  attempts: null,
  deadline: '2026-06-30',
  passPercent: 75,
};

test('a class file is read as it was written, and so is a link', () => {
  expect(readClassPlan(classPlanText(plan), 'class.json')).toEqual(plan);
  const screen = screenFromHash(hashOfScreen({ name: 'practice', task: pathOfPlan(plan) }));
  expect(screen.name === 'practice' && planOfPath(screen.task)).toEqual(plan);
  expect(planOfPath(['mixed', '2', 'a'])).toBeNull();
});

test.each([
  ['not JSON', '{', 'beginning'],
  ['another file', '{"format":"practice-results"}', 'format'],
  [
    'a lesson that there is none of',
    classPlanText({ ...plan, lessons: [{ ...plan.lessons[0]!, id: 'none' }] }),
    'lessons.0.id',
  ],
  ['no lesson', classPlanText({ ...plan, lessons: [] }), 'lessons'],
  ['a pass mark above all points', classPlanText({ ...plan, passPercent: 120 }), 'passPercent'],
  ['a day that is none', classPlanText({ ...plan, deadline: 'soon' }), 'deadline'],
])('%s is refused with its place', (_what, text, place) => {
  try {
    readClassPlan(text, 'class.json');
    expect.unreachable();
  } catch (error) {
    expect(error).toBeInstanceOf(FormatError);
    expect((error as FormatError).message).toContain('class.json (class file)');
    expect((error as FormatError).place).toBe(place);
  }
});
