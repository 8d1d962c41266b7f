import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { Looking } from '../../../../src/views/review/looking';

let page: string | null = 'first page';
let visible = true;
let seen: (string | null)[] = [];
let looking: Looking;

beforeEach(() => {
  vi.useFakeTimers();
  page = 'first page';
  visible = true;
  seen = [];
  looking = new Looking({
    page: () => page,
    visible: () => visible,
    now: () => Date.now(),
    seen: () => seen.push(page),
  });
});
afterEach(() => {
  looking.stop();
  vi.useRealTimers();
});

/** As a key does it: the act is told first, then the page changes. */
function turnTo(next: string | null, by: 'a key' | 'a held key' = 'a key') {
  if (by === 'a key') looking.acted();
  page = next;
  looking.changed();
}

test('a page brought up by a key is seen once it has stood still', () => {
  turnTo('second page');
  vi.advanceTimersByTime(800);
  expect(seen).toEqual([]);
  vi.advanceTimersByTime(200);
  expect(seen).toEqual(['second page']);
  looking.acted();
  vi.advanceTimersByTime(60_000);
  expect(seen).toEqual(['second page']);
});

test('opening is no looking, but an act on the page that stands there is', () => {
  vi.advanceTimersByTime(600_000);
  expect(seen).toEqual([]);
  looking.acted();
  vi.advanceTimersByTime(1);
  expect(seen).toEqual(['first page']);
});

test('pages that run past are not seen, nor the one on which a held key comes to rest, until the key is let go', () => {
  turnTo('1');
  for (let i = 2; i < 30; i++) {
    vi.advanceTimersByTime(100);
    turnTo(String(i), 'a held key');
  }
  vi.advanceTimersByTime(5000);
  expect(seen).toEqual([]);
  looking.acted();
  vi.advanceTimersByTime(1);
  expect(seen).toEqual(['29']);
});

test('a page turned by a key is seen under its own name only', () => {
  turnTo('2');
  vi.advanceTimersByTime(500);
  turnTo('3');
  vi.advanceTimersByTime(899);
  expect(seen).toEqual([]);
  vi.advanceTimersByTime(1);
  expect(seen).toEqual(['3']);
});

test('nothing is seen in a window in the background; back in front the time begins again', () => {
  turnTo('2');
  vi.advanceTimersByTime(100);
  visible = false;
  looking.turned();
  vi.advanceTimersByTime(10_000);
  expect(seen).toEqual([]);
  visible = true;
  looking.turned();
  looking.acted();
  vi.advanceTimersByTime(899);
  expect(seen).toEqual([]);
  vi.advanceTimersByTime(1);
  expect(seen).toEqual(['2']);
});

test('nothing is seen at a scale at which no beat can be judged', () => {
  turnTo(null);
  vi.advanceTimersByTime(5000);
  looking.acted();
  vi.advanceTimersByTime(5000);
  expect(seen).toEqual([]);
});
