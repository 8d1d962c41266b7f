import { describe, expect, test } from 'vitest';
import type { Change, Dismissal, Note, SignOff } from '../../../../src/core/marks/edit';
import { changeInWords } from '../../../../src/core/report/change-words';
import { sampleIndex, span } from '../../../../src/core/units';

const rateHz = 250;
const note: Note = { id: 'n1', kind: 'comment', start: sampleIndex(500), end: sampleIndex(500), text: 'sled jerks' };
const flag: Note = { ...note, kind: 'flag', text: '' };
const dismissal: Dismissal = { reason: 'long interval', at: sampleIndex(1001) };
const signOff: SignOff = { segment: 'sled haul', at: '2026-09-13T08:00:00Z', reason: null };
const marks = (removed: number[], added: number[]): Change => [
  { op: 'marks', removed: removed.map(sampleIndex), added: added.map(sampleIndex) },
];
const unreadable = (removed: [number, number][], added: [number, number][]): Change => [
  { op: 'unreadable', removed: removed.map(s => span(...s)), added: added.map(s => span(...s)) },
];

describe('a change in words', () => {
  test.each<[string, Change, string]>([
    ['move', marks([3085], [3089]), 'mark moved from 12.340 s to 12.356 s'],
    ['insert', marks([], [250]), 'mark inserted at 1.000 s'],
    ['delete two', marks([250, 500], []), 'mark at 1.000 s deleted; mark at 2.000 s deleted'],
    [
      'several for one',
      marks([250, 300], [275]),
      'mark at 1.000 s deleted; mark at 1.200 s deleted; mark inserted at 1.100 s',
    ],
    ['span', unreadable([], [[250, 500]]), 'unreadable: 1.000 s to 2.000 s'],
    ['span gone', unreadable([[250, 500]], []), 'no longer unreadable: 1.000 s to 2.000 s'],
    [
      'span cut in two',
      unreadable(
        [[0, 750]],
        [
          [0, 250],
          [500, 750],
        ],
      ),
      'unreadable: 0.000 s to 1.000 s, 2.000 s to 3.000 s instead of 0.000 s to 3.000 s',
    ],
    ['nothing', unreadable([], []), ''],
    ['comment', [{ op: 'note', before: null, after: note }], 'comment at 2.000 s added: "sled jerks"'],
    [
      'comment changed',
      [{ op: 'note', before: note, after: { ...note, text: 'x' } }],
      'comment at 2.000 s changed: "x"',
    ],
    ['comment gone', [{ op: 'note', before: note, after: null }], 'comment at 2.000 s removed'],
    ['flag without words', [{ op: 'note', before: null, after: flag }], 'flag at 2.000 s added'],
    ['flag gone', [{ op: 'note', before: flag, after: null }], 'flag at 2.000 s removed'],
    [
      'suspicion',
      [{ op: 'dismissal', before: null, after: dismissal }],
      'suspicion "long interval" at 4.004 s set aside',
    ],
    [
      'suspicion again',
      [{ op: 'dismissal', before: dismissal, after: null }],
      'suspicion "long interval" at 4.004 s taken up again',
    ],
    ['sign-off', [{ op: 'signOff', before: null, after: signOff }], 'segment "sled haul" signed off'],
    [
      'sign-off with a reason',
      [{ op: 'signOff', before: null, after: { ...signOff, reason: 'noise' } }],
      'segment "sled haul" signed off: "noise"',
    ],
    ['reopened', [{ op: 'signOff', before: signOff, after: null }], 'segment "sled haul" reopened'],
  ])('%s', (_name, change, words) => {
    expect(changeInWords(change, rateHz)).toBe(words);
  });

  test('of several operations is one sentence after the other', () => {
    expect(changeInWords([...marks([], [250]), ...unreadable([], [[0, 250]])], rateHz)).toBe(
      'mark inserted at 1.000 s; unreadable: 0.000 s to 1.000 s',
    );
  });
});
