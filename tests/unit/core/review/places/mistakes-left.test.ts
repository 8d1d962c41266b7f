import { expect, test } from 'vitest';
import { unlistedChance } from '../../../../../src/core/detector/suspicion/model';
import { marksFrom } from '../../../../../src/core/marks/markset';
import { expectedMistakes } from '../../../../../src/core/review/places/expected-mistakes';
import { faint, usualSpread } from '../../../../../src/core/review/places/groups';
import { mistakesLeft, openPlaces, type QueueItem } from '../../../../../src/core/review/places/queue';

const item = (at: number, more: object = {}) =>
  ({
    at,
    mark: at,
    score: 0.3,
    group: 'shape',
    spread: 1,
    reason: 'odd',
    leads: [at],
    ...more,
  }) as unknown as QueueItem;

// In the order of a queue, not of time.
const items = [
  item(900, { score: 0.7 }),
  item(100),
  item(500, { mark: null, leads: [500, 540], group: 'interval', spread: 0.5 }),
  item(300, { reason: 'unreadable' }),
  item(700, { score: 0.02, group: faint, spread: 0.9 }),
];
const chances = [
  { chance: 0.7, count: 1, group: 'shape', spread: 1 },
  { chance: 0.3, count: 1, group: 'shape', spread: 1 },
  { chance: 0.3, count: 2, group: 'interval', spread: 0.5 },
  { chance: 0.02, count: 1, group: faint, spread: 0.9 },
];
const unlisted = (count: number, spread: number) => ({ chance: unlistedChance, count, group: faint, spread });

// source: definition: the places one by one, and the marks left that are no place together as one more
test('are those of the places and of the marks left that have none, to the last digit', () => {
  const left = marksFrom([50, 100, 200, 300, 700, 800]);
  const both = [...chances, unlisted(4, 0.9)];
  expect(mistakesLeft(openPlaces(items), [left])).toEqual(expectedMistakes(both));
});

test('are the same where few places stand among many marks', () => {
  const left = marksFrom(Array.from({ length: 1000 }, (_, i) => 4 * i));
  const both = [...chances, unlisted(1000 - 3, 0.9)];
  expect(mistakesLeft(openPlaces(items), [left])).toEqual(expectedMistakes(both));
});

test('count a mark of two parts that overlap as left in both, and its place once', () => {
  const parts = [marksFrom([100, 200]), marksFrom([200, 100, 900])];
  expect(mistakesLeft(openPlaces(items), parts)).toEqual(expectedMistakes([...chances, unlisted(3, 0.9)]));
});

test('are the places alone where every mark left is one, and none where nothing is open', () => {
  expect(mistakesLeft(openPlaces(items), [marksFrom([100, 900])])).toEqual(expectedMistakes(chances));
  expect(mistakesLeft(openPlaces([]), [])).toEqual({ expected: 0, low: 0, high: 0 });
  const one = expectedMistakes([unlisted(1, usualSpread(faint))]);
  expect(mistakesLeft(openPlaces([]), [marksFrom([7])])).toEqual(one);
});
