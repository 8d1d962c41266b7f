import { expect, test } from 'vitest';
import { chanceWords, placeWords } from '../../../../../src/core/review/places/place-words';
import type { SampleIndex } from '../../../../../src/core/units';

const at = (...samples: number[]) => samples as SampleIndex[];

test('a gap with several beats says how many', () => {
  const sentence = 'a beat has no mark';
  expect(placeWords({ mark: null, leads: at(10, 20, 30), sentence })).toBe(
    '3 beats may be missing: a beat has no mark',
  );
  expect(placeWords({ mark: null, leads: at(10), sentence })).toBe(sentence);
  expect(placeWords({ mark: at(10)[0]!, leads: at(10, 20), sentence })).toBe(sentence);
});

test.each([
  [1, 'over 99 %'],
  [0.996, 'over 99 %'],
  [0.994, '99 %'],
  [0.5, '50 %'],
  [0.006, '1 %'],
  [0.004, 'under 1 %'],
])('no chance is said to be certain: %d is %s', (chance, words) => {
  expect(chanceWords(chance)).toBe(words);
});
