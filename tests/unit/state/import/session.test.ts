import { expect, test } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import type { Segment } from '../../../../src/core/recording/recording';
import { distinctSegments } from '../../../../src/core/recording/segment-names';
import { span } from '../../../../src/core/units';
import type { ImportedRecorder } from '../../../../src/state/import/row';
import { notesOf, segmentsOf, sessionOf } from '../../../../src/state/import/session';
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
    lead: { index: 0, why: 'nothing speaks for another', sure: true, signalSha256: '1'.repeat(64) },
    fileSha256: '2'.repeat(64),
    accepted: [],
    beats: null,
  } satisfies ImportedRecorder;
}

const named = (name: string, start: number, end: number): Segment => ({ name, ...span(start, end) });

test('a protocol given twice, rounded to neighbouring samples, is one; a real repeat stays and is renamed', () => {
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

/** Beats about every 0.8 s, none like the last. */
const beats = marksFrom(Array.from({ length: 300 }, (_, i) => Math.round(200 * i + 40 * Math.sin(i * i) + 100)));

function markedAt(places: (beat: number) => number): ImportedRecorder {
  const list = { marks: marksFrom(beats.map(places)), understood: [], warnings: [], dropped: [] };
  const found = { samples: beats, within: span(0, 80_000) };
  return { ...recorderWith([]), marks: { fileName: 'marks.csv', list }, beats: found };
}

// source: what the marks were made of
test.each<[string, (beat: number) => number, RegExp | null]>([
  ['on the beats', b => b, null],
  ['counted at 500 Hz in a signal of 250 Hz', b => 2 * b, /were counted at 500 Hz, not 250 Hz/],
  ['three seconds late', b => b + 750, /are moved by -3\.00 s/],
  ['counted from 1', b => b + 1, /do the samples count from 1/],
])('marks of a list are held against the beats in the signal: %s', (_what, places, doubt) => {
  const { warnings } = notesOf(markedAt(places));
  if (doubt === null) expect(warnings).toEqual([]);
  else expect(warnings).toEqual([expect.stringMatching(doubt)]);
});

test('a session keeps what it was made from and what was doubtful', () => {
  const accepted = ['Column 1 does not say its unit; by its steps it is in ms.'];
  const recorder = { ...markedAt(b => b + 750), accepted };
  const [item] = sessionOf({ id: 's', title: '', participant: 'V01' }, [recorder]).recordings;
  expect(item!.recording.origin).toEqual({
    format: expect.any(String),
    fileSha256: '2'.repeat(64),
    signalSha256: '1'.repeat(64),
    doubts: [...accepted, expect.stringContaining('are moved by -3.00 s')],
    leftOut: [],
  });
});

test('an unsure choice of the lead is a doubt, and a question about labels ends with its answer', () => {
  const plain = recorderWith([]);
  const leads = [lead('A', 250, 1000), lead('B', 250, 1000)];
  const asked = 'Annotations "X" (30) could be beats as well and are left out: say which labels are beats.';
  const opened = { ...plain.opened, recording: recordingWith(leads), warnings: [asked] };
  const unsure = { ...plain, opened, lead: { ...plain.lead, index: 1, sure: false } };
  expect(notesOf(unsure).warnings).toEqual(['Of 2 leads, B is taken as the ECG: nothing speaks for another.', asked]);
  expect(notesOf({ ...unsure, uses: new Map([['X', 'marks' as const]]) }).warnings).not.toContain(asked);
});
