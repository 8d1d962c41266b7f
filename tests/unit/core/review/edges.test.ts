import { describe, expect, test } from 'vitest';
import type { Change, Note } from '../../../../src/core/marks/edit';
import { append, newLog } from '../../../../src/core/marks/log';
import * as edits from '../../../../src/core/review/edits';
import { guidanceOf } from '../../../../src/core/review/places/guidance';
import { identifyingFields } from '../../../../src/core/review/privacy/identifying';
import type { Comparison } from '../../../../src/core/review/raters/compare';
import { mergeSession } from '../../../../src/core/review/raters/merge';
import { settledLogs } from '../../../../src/core/review/raters/settled-logs';
import { spotCheckStretches } from '../../../../src/core/review/raters/spot-check';
import { logHeader } from '../../../../src/core/review/session';
import { coverageOf, coverageOfAll, maySignOff } from '../../../../src/core/review/standing/coverage';
import { addProgress, type ProgressEntry } from '../../../../src/core/review/standing/progress';
import { boardRows } from '../../../../src/core/review/study/board';
import { readName } from '../../../../src/core/review/study/naming';
import { sampleIndex, span } from '../../../../src/core/units';
import { editing, recordingWith, sessionWith } from './sample-session';

const s = sampleIndex;
const halves: [string, number, number][] = [
  ['rest', 0, 500],
  ['approach hike', 500, 1000],
];
const item = recordingWith({ detected: [50, 150, 550], segments: halves });
const note = (id: string, start: number, end = start): Note => ({
  id,
  kind: 'comment',
  start: s(start),
  end: s(end),
  text: 'x',
});

describe('where there is nothing to look at', () => {
  const silent = recordingWith({ detected: [], segments: halves, gaps: [[0, 1000]] });

  test('everything was looked at', () => {
    const { review } = editing(silent);
    expect(coverageOf(silent, review, silent.segments[0]!)).toMatchObject({ share: 1, totalSeconds: 0, covered: true });
    expect(coverageOfAll(silent, review)).toMatchObject({ share: 1, marksTotal: 0, covered: true });
  });

  test('marks alone, or time alone, decide', () => {
    const marked = { ...silent, detected: item.detected };
    const gone = editing(marked, { marks: item.detected.subarray(0, 0) }).review;
    expect(coverageOfAll(marked, gone).share).toBe(1);
    const quiet = recordingWith({ detected: [], segments: halves });
    expect(coverageOfAll(quiet, editing(quiet, { seen: [span(0, 250)] }).review).share).toBe(0.25);
  });
});

describe('what a sign-off still lacks', () => {
  const lacking = (part: Parameters<typeof editing>[1]) =>
    maySignOff(item, editing(item, part).review, item.segments[0]!);

  test.each([
    [{ seen: [span(0, 500)] }, '2 marks not looked at'],
    [{ seen: [span(0, 500)], accepted: [span(50, 51)] }, '1 mark not looked at'],
    [{ seen: [span(0, 433)], accepted: [span(0, 500)] }, '0.7 s not seen'],
    [{ seen: [span(0, 499)], accepted: [span(0, 100)] }, '0.1 s not seen and 1 mark not looked at'],
  ])('%o', (part, left) => {
    expect(lacking(part)).toEqual({ covered: false, left });
  });
});

describe('a change made earlier', () => {
  const signOffs = [{ segment: 'rest', at: '2026-02-15T10:00:00Z', reason: null }];
  const e = editing(item, { signOffs });

  test.each<[string, Change, boolean]>([
    ['a mark', [{ op: 'marks', removed: [s(50)], added: [] }], true],
    ['an unreadable span', [{ op: 'unreadable', removed: [], added: [span(100, 120)] }], true],
    ['acceptance of a mark', [{ op: 'accepted', removed: [], added: [span(40, 60)] }], true],
    ['acceptance without a mark', [{ op: 'accepted', removed: [], added: [span(60, 70)] }], false],
    ['a remark', [{ op: 'note', before: null, after: note('n1', 20) }], true],
    ['a remark taken back', [{ op: 'note', before: note('n1', 20), after: null }], true],
    ['a suspicion set aside', [{ op: 'dismissal', before: null, after: { reason: 'r', at: s(20) } }], true],
    ['looking', [{ op: 'seen', removed: [], added: [span(0, 100)] }], false],
    ['a sign-off', [{ op: 'signOff', before: null, after: signOffs[0]! }], false],
    ['a mark elsewhere', [{ op: 'marks', removed: [s(550)], added: [] }], false],
  ])('%s in a segment signed off since', (_name, change, refused) => {
    expect(edits.isRefusal(edits.refuseChange(e, change) as edits.Built)).toBe(refused);
  });

  test('alters the signal’s reading only by marks and unreadable spans', () => {
    const change: Change = [
      { op: 'marks', removed: [s(50)], added: [s(60)] },
      { op: 'unreadable', removed: [span(100, 120)], added: [span(100, 130)] },
      { op: 'note', before: null, after: note('n1', 20) },
      { op: 'seen', removed: [], added: [span(0, 100)] },
    ];
    expect(edits.alteredSpans(e.review, change)).toEqual([span(50, 51), span(60, 61), span(120, 130)]);
  });
});

test('remarks: ids go on from the highest, and none ends before it starts', () => {
  const e = editing(item, { notes: [note('n2', 10), note('seven', 20), note('n9', 30)] });
  expect(edits.nextNoteId(e.review)).toBe('n10');
  expect(edits.nextNoteId(editing(item).review)).toBe('n1');
  expect(edits.addNote(e, note('n10', 30, 20))).toEqual({ refused: 'A remark cannot end before it starts.' });
});

describe('identifying fields', () => {
  const session = sessionWith({ ...item, recording: { ...item.recording, startedAt: null } });
  const acts = (...at: string[]) =>
    at.reduce(
      (log, t) => append(log, { at: t, recording: '', intent: 'look', change: [] }).log,
      newLog(logHeader(session, 'R1')),
    );
  const days = (...at: string[]) =>
    identifyingFields({ session, logs: [acts(...at)] }).find(f => f.field.startsWith('days'))?.value;

  test('give the days of a review, one or from the first to the last, and none of an empty one', () => {
    expect(days('2026-02-14T09:00:00Z', '2026-02-14T18:00:00Z')).toBe('2026-02-14');
    expect(days('2026-02-16T09:00:00Z', '2026-02-14T18:00:00Z')).toBe('2026-02-14 to 2026-02-16');
    expect(days()).toBeUndefined();
  });

  test('have no start where the recording has none', () => {
    expect(identifyingFields({ session, logs: [] }).map(f => f.field)).not.toContain('start of chest-band');
  });
});

test('progress stays in the order of time, whenever a result is added', () => {
  const entry = (at: string, logHash: string) => ({ at, logHash }) as ProgressEntry;
  const list = ['2026-03-02', '2026-03-01', '2026-03-03', '2026-03-02'].reduce<readonly ProgressEntry[]>(
    (all, at, i) => addProgress(all, entry(at, `${i}`)),
    [],
  );
  expect(list.map(e => e.logHash)).toEqual(['1', '0', '3', '2']);
  expect(addProgress(list, entry('2026-04-01', '3'))).toBe(list);
});

test('recordings that differ in something long are said to differ, without all of it', () => {
  const here = sessionWith(item);
  const gaps = Array.from({ length: 30 }, (_, i) => span(10 * i, 10 * i + 1));
  const there = sessionWith({ ...item, recording: { ...item.recording, gaps } });
  const refused = mergeSession({ session: here, logs: [] }, { session: there, logs: [] });
  expect(refused).toMatchObject({ refused: expect.stringMatching(/gaps differ/) });
});

test('a pattern with a problem reads no name', () => {
  expect(readName('{recorder}', 'V01.edf')).toBeNull();
});

test('a log that settles nothing names no logs', () => {
  const own = newLog(logHeader(sessionWith(item), 'S1', 'adjudicator'));
  expect(settledLogs(own, [])).toBeNull();
  const other = append(own, {
    at: 'x',
    recording: 'chest-band',
    intent: 'settle',
    change: [],
    origin: 'both',
    reason: 'no words',
  });
  expect(settledLogs(other.log, [])).toBeNull();
});

test('guidance keeps points without a heading, and a heading without points', () => {
  const sections = [
    { heading: ' ', points: ['  look twice ', ''] },
    { heading: 'Noise', points: [' '] },
    { heading: '', points: [''] },
  ];
  expect(guidanceOf({ title: ' T ', sections })).toEqual({
    title: 'T',
    sections: [
      { heading: '', points: ['look twice'] },
      { heading: 'Noise', points: [] },
    ],
  });
});

test('a session is settled once the supervisor has finished, not before', () => {
  const session = sessionWith(item);
  const begun = newLog(logHeader(session, 'S1', 'adjudicator'));
  const finished = append(begun, { at: '2026-02-14T10:00:00Z', recording: '', intent: 'finish', change: [] }).log;
  expect(boardRows({ session, logs: [begun] })[0]!.settled).toBe(false);
  expect(boardRows({ session, logs: [finished] })[0]!.settled).toBe(true);
});

test.each([-0.1, 1.1, Number.NaN])('a spot check of a share of %d is refused', share => {
  expect(() => spotCheckStretches({} as Comparison, { share, stretchSeconds: 10, seed: 1 })).toThrow(RangeError);
});
