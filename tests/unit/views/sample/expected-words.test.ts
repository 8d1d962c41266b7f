import { expect, test } from 'vitest';
import { expectedWords } from '../../../../src/views/sample/expected-words';

test('a sample that needs every stretch is not said to need more where quality is lower', () => {
  expect(expectedWords({ draws: 80, stretches: 300, minutes: 7 }, false)).toBe(
    'About 80 of 300 stretches, 7 min at 5 s a stretch, where quality is near 99.5 %; more where it is lower.',
  );
  expect(expectedWords({ draws: 300, stretches: 300, minutes: 25 }, false)).toBe(
    'All 300 stretches, 25 min at 5 s a stretch: an interval as narrow as this needs them all. Ask for a wider one, or review in full.',
  );
  expect(expectedWords({ draws: 60, stretches: 300, minutes: 5 }, true)).toBe(
    'About 60 of 300 stretches, 5 min at 5 s a stretch.',
  );
});
