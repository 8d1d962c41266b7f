import { expect, test } from 'vitest';
import type { Segment } from '../../../../src/core/recording/recording';
import { distinctSegments } from '../../../../src/core/recording/segment-names';
import { span } from '../../../../src/core/units';
import type { ImportedRecorder } from '../../../../src/state/import/row';
import { notesOf, segmentsOf } from '../../../../src/state/import/session';
import { lead, recordingWith } from '../../formats/edf/fixtures';

/** A recorder with segments from lists and from annotations, in seconds at 250 Hz. */
function recorderWith(lists: readonly (readonly Segment[])[], annotated: readonly [string, number, number][] = []) {
  const recording = recordingWith([lead('ECG', 250, 20_000_000)]);
  const opened = { recording, marks: null, marksBy: '', segments: [], understood: [], warnings: [], dropped: [] };
  return {
    row: 0,
    opened: { ...opened, patient: null },
    annotations: annotated.map(([text, onsetSeconds, durationSeconds]) => ({ text, onsetSeconds, durationSeconds })),
    uses: new Map(),
    marks: null,
    segments: lists.map((segments, i) => {
      return { fileName: `list ${i}`, list: { segments, understood: [], warnings: [], dropped: [] } };
    }),
    builtIn: null,
  } satisfies ImportedRecorder;
}

const named = (name: string, start: number, end: number): Segment => ({ name, ...span(start, end) });

test('a protocol told twice, rounded to neighbouring samples, is one; a real repeat stays and is renamed', () => {
  const list = [named('uphill', 0, 2500), named('uphill', 5000, 7500), named('rest', 2501, 5000)];
  const recorder = recorderWith(
    [list],
    [
      ['uphill', 0, 10],
      ['rest', 10, 10],
      ['lake', 30, 10],
    ],
  );
  expect(segmentsOf(recorder)).toEqual([
    named('uphill', 0, 2500),
    named('rest', 2500, 5000),
    named('uphill (2)', 5000, 7500),
    named('lake', 7500, 10_000),
  ]);
  expect(notesOf(recorder).warnings).toEqual([
    'Two segments are called "uphill": the later one is named "uphill (2)".',
  ]);
});

/** Segments that count how often they are looked at. */
function counted(count: number, nameOf: (i: number) => string) {
  let reads = 0;
  const segments = Array.from({ length: count }, (_, i): Segment => {
    const { start, end } = span(100 * i, 100 * i + 90);
    return {
      get name() {
        reads++;
        return nameOf(i);
      },
      get start() {
        reads++;
        return start;
      },
      end,
    };
  });
  return { segments, reads: () => reads };
}

test.each<[string, (i: number) => string]>([
  ['all different', i => `page ${i}`],
  ['all alike', () => 'rest'],
])('work on segments grows with their number alone: names %s', (_what, nameOf) => {
  const readsOf = (count: number) => {
    const { segments, reads } = counted(count, nameOf);
    expect(segmentsOf(recorderWith([segments]))).toHaveLength(count);
    return reads();
  };
  expect(readsOf(2000)).toBeLessThan(3 * readsOf(1000));
});

test('numbering repeats tries each number once', () => {
  let tried = 0;
  const set = Set.prototype.has;
  Set.prototype.has = function (this: Set<unknown>, value: unknown) {
    tried++;
    return set.call(this, value);
  };
  try {
    distinctSegments(counted(1000, () => 'rest').segments);
  } finally {
    Set.prototype.has = set;
  }
  expect(tried).toBeLessThan(4000);
});
