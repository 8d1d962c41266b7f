import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import { BeatOutcome, defaultMatchSettings } from '../../../../src/core/marks/match';
import { randomFromNumber } from '../../../../src/core/random';
import { IntervalOutcome } from '../../../../src/core/score/intervals';
import { type Counts, type RecordingScore, type ScoreInput, scoreRecording } from '../../../../src/core/score/score';
import { type Span, span } from '../../../../src/core/units';

/**
 * The definition of RR-interval quality again, in the plainest form: one cell a sample, every pair looked at. Which mark
 * belongs to which beat is taken from the matching, which has its own tests.
 */
function plainly({ input, matching }: RecordingScore) {
  const { beats, marks, outcome, markOfBeat, beatOfMark } = matching;
  const cells = (spans: readonly Span[]) => (at: number) => spans.some(s => at >= s.start && at < s.end);
  const [isUnreadable, isGap] = [cells(input.unreadable), cells(input.gaps)];
  const isExcluded = (at: number) => isUnreadable(at) || isGap(at);
  const holds = (a: number, b: number, of: (at: number) => boolean) => {
    let n = 0;
    for (let at = a; at < b; at++) if (of(at)) n++;
    return n;
  };
  const within = (s: Span) => (at: number) => at >= s.start && at < s.end;
  const readable = (k: number) => holds(beats[k]!, beats[k + 1]!, isExcluded) === 0;
  const pairs = Array.from({ length: Math.max(0, beats.length - 1) }, (_, k) => k);
  const judgedIn = (s: Span) => pairs.filter(k => within(s)(beats[k]!) && within(s)(beats[k + 1]!) && readable(k));
  const judgedAnywhere = [...new Set(input.segments.flatMap(judgedIn))].sort((a, b) => a - b);
  const cause = (k: number) => {
    const ends = [outcome[k], outcome[k + 1]];
    if (ends.includes(BeatOutcome.missed)) return 'missed';
    if (ends.includes(BeatOutcome.wrongPeak)) return 'wrongPeak';
    return markOfBeat[k + 1] === markOfBeat[k]! + 1 ? 'right' : 'extra';
  };

  function localRr(start: number, end: number): number | null {
    const before = judgedAnywhere.filter(k => beats[k + 1]! <= start).slice(-8);
    const after = judgedAnywhere.filter(k => beats[k]! >= end).slice(0, 8);
    const lengths = [...before, ...after].map(k => beats[k + 1]! - beats[k]!).sort((a, b) => a - b);
    const half = lengths.length / 2;
    if (lengths.length === 0) return null;
    return lengths.length % 2 === 1 ? lengths[Math.floor(half)]! : (lengths[half - 1]! + lengths[half]!) / 2;
  }

  function lostIn(s: Span) {
    const hulls: [number, number][] = [];
    for (let at: number = s.start; at < s.end; at++) {
      if (!isExcluded(at)) continue;
      const last = hulls.at(-1);
      // With no beat since the last stretch this cell belongs to it.
      if (last && !beats.some(b => b >= last[1] && b < at)) last[1] = at + 1;
      else hulls.push([at, at + 1]);
    }
    return hulls.map(([a, b]) => {
      const start = Math.max(s.start, ...beats.filter(x => x < a && x >= s.start));
      const end = Math.min(s.end, ...beats.filter(x => x >= b && x < s.end));
      const rr = localRr(start, end);
      const kind = 2 * holds(a, b, isGap) > holds(a, b, isExcluded) ? 'no signal' : 'unreadable';
      return { start, end, kind, intervals: rr === null ? null : Math.max(1, Math.floor((end - start) / rr + 0.5)) };
    });
  }

  return input.segments.map(s => {
    const inBeats = [...beats.keys()].filter(k => within(s)(beats[k]!));
    const inMarks = [...marks.keys()].filter(j => within(s)(marks[j]!));
    const judged = judgedIn(s);
    const lost = lostIn(s);
    const add = (kind: string) =>
      lost.some(l => l.intervals === null && l.kind.includes(kind))
        ? null
        : lost.filter(l => l.kind.includes(kind)).reduce((sum, l) => sum + l.intervals!, 0);
    const offset = (k: number) => marks[markOfBeat[k]!]! - beats[k]!;
    const right = judged.filter(k => cause(k) === 'right');
    const own = inMarks.filter(j => inMarks.includes(j + 1) && holds(marks[j]!, marks[j + 1]!, isExcluded) === 0);
    const ofBeats = (what: BeatOutcome) => inBeats.filter(k => outcome[k] === what);
    const counts: Counts = {
      beats: inBeats.length,
      marks: inMarks.length,
      onPeak: ofBeats(BeatOutcome.onPeak).length,
      refined: ofBeats(BeatOutcome.onPeak).filter(k => offset(k) !== 0).length,
      missed: ofBeats(BeatOutcome.missed).length,
      wrongPeak: ofBeats(BeatOutcome.wrongPeak).length,
      extra: inMarks.filter(j => beatOfMark[j] === -1).length,
      offPeakMarks: inMarks.filter(j => beatOfMark[j] === -1 || outcome[beatOfMark[j]!] !== BeatOutcome.onPeak).length,
      judged: judged.length,
      right: right.length,
      wrongByMissed: judged.filter(k => cause(k) === 'missed').length,
      wrongByWrongPeak: judged.filter(k => cause(k) === 'wrongPeak').length,
      wrongByExtra: judged.filter(k => cause(k) === 'extra').length,
      lost: add(''),
      lostUnreadable: add('unreadable'),
      lostNoSignal: add('no signal'),
      ownIntervals: own.length,
      ownRight: own.filter(j => {
        const k = beatOfMark[j]!;
        return k !== -1 && beatOfMark[j + 1] === k + 1 && readable(k) && cause(k) === 'right';
      }).length,
      seconds: (s.end - s.start) / input.samplingRateHz,
      unreadableSeconds: holds(s.start, s.end, at => isUnreadable(at) && !isGap(at)) / input.samplingRateHz,
      noSignalSeconds: holds(s.start, s.end, isGap) / input.samplingRateHz,
    };
    const errorsMs = right.map(k => ((offset(k + 1) - offset(k)) * 1000) / input.samplingRateHz);
    return { counts, lost, errorsMs };
  });
}

/** Beats with every kind of mistake, spans that meet beats, each other and the segments' edges. */
function madeUp(seed: number): ScoreInput {
  const random = randomFromNumber(seed);
  const end = 1200;
  const beats: number[] = [];
  for (let at = random.integer(60); at < end; at += 45 + random.integer(50)) beats.push(at);
  const marks = beats.flatMap(b => {
    const kind = random.integer(12);
    if (kind === 0) return [];
    if (kind === 1) return [b + 8 + random.integer(20)];
    if (kind === 2) return [b, b + 12 + random.integer(20)];
    return [Math.max(0, b + (kind < 6 ? random.integer(9) - 4 : 0))];
  });
  const spans = (count: number, longest: number) =>
    Array.from({ length: count }, () => {
      const at = random.integer(end - longest);
      return span(at, at + 1 + random.integer(longest));
    });
  const disjoint = (list: readonly Span[]) =>
    [...list].sort((a, b) => a.start - b.start).filter((s, i, all) => i === 0 || s.start > all[i - 1]!.end);
  // Kept apart pairwise from the first on, so that the list is what a review would hold.
  const clean = (list: readonly Span[]) => disjoint(disjoint(disjoint(list)));
  const cuts = [random.integer(100), 400 + random.integer(100), 700 + random.integer(100), end];
  return {
    beats: marksFrom(beats),
    marks: marksFrom(marks),
    unreadable: clean(spans(random.integer(5), 160)),
    gaps: clean(spans(random.integer(3), 160)),
    segments: [
      { name: 'rest', ...span(cuts[0]!, cuts[1]!) },
      { name: 'approach hike', ...span(cuts[1]!, cuts[2]!) },
      { name: 'uphill run', ...span(cuts[2]! + 20, end) },
    ],
    samplingRateHz: 100,
    settings: defaultMatchSettings,
  };
}

const sum = (values: (number | null)[]) =>
  values.reduce<number | null>((t, v) => (t === null || v === null ? null : t + v), 0);

// source: the definition of RR-interval quality, counted again in the plainest form
describe('every count of a score', () => {
  test.each(Array.from({ length: 150 }, (_, seed) => seed))('is what the definition says, recording %i', seed => {
    const score = scoreRecording(madeUp(seed));
    const expected = plainly(score);
    for (const [i, segment] of score.segments.entries()) {
      expect(segment.counts).toEqual(expected[i]!.counts);
      expect(segment.lostStretches).toEqual(expected[i]!.lost);
      expect([...segment.intervalErrorsMs()]).toEqual(expected[i]!.errorsMs);
    }
    expect([...score.total.intervalErrorsMs()]).toEqual(expected.flatMap(e => e.errorsMs));
    expect(score.total.lostStretches).toEqual(expected.flatMap(e => e.lost));
    for (const key of Object.keys(score.total.counts) as (keyof Counts)[]) {
      expect(score.total.counts[key], key).toBe(sum(expected.map(e => e.counts[key])));
    }
    expect(score.total.segment).toMatchObject({ name: 'all segments', end: 1200 });
  });

  const segmented = (seed: number, segments: [string, number, number][]): ScoreInput => ({
    ...madeUp(seed),
    segments: segments.map(([name, start, end]) => ({ name, ...span(start, end) })),
  });
  const unlike: [string, [string, number, number][]][] = [
    [
      'in no order',
      [
        ['uphill run', 720, 1200],
        ['rest', 0, 430],
        ['approach hike', 430, 700],
      ],
    ],
    [
      'that overlap',
      [
        ['rest', 0, 500],
        ['approach hike', 300, 800],
        ['uphill run', 780, 1200],
      ],
    ],
    [
      'of which one lies in another',
      [
        ['all day', 0, 1200],
        ['rest', 330, 480],
      ],
    ],
  ];
  test.each(unlike)('is what the definition says in segments %s', (_name, segments) => {
    for (let seed = 200; seed < 240; seed++) {
      const score = scoreRecording(segmented(seed, segments));
      const expected = plainly(score);
      expect(score.segments.map(s => s.counts)).toEqual(expected.map(e => e.counts));
      expect(score.segments.map(s => s.lostStretches)).toEqual(expected.map(e => e.lost));
    }
  });

  test('is what the definition says where spans begin and end on beats and marks', () => {
    for (let seed = 300; seed < 340; seed++) {
      const made = madeUp(seed);
      const { beats, marks } = made;
      const unreadable = [span(beats[2]!, beats[4]!), span(marks[7]!, marks[9]!)];
      const score = scoreRecording({ ...made, unreadable, gaps: [span(marks[11]!, marks[12]!)] });
      const expected = plainly(score);
      expect(score.segments.map(s => s.counts)).toEqual(expected.map(e => e.counts));
      expect(score.segments.map(s => s.lostStretches)).toEqual(expected.map(e => e.lost));
      expect(score.outcomes).toHaveLength(score.matching.beats.length - 1);
    }
  });

  test('is what the definition says where beats have two marks, beats are close, and an interval has two spans', () => {
    for (let seed = 400; seed < 460; seed++) {
      const random = randomFromNumber(seed);
      const made = madeUp(seed);
      const near = (list: Iterable<number>) =>
        [...list].flatMap(at => (random.integer(4) === 0 ? [at, at + random.integer(9) - 4] : [at]));
      const beats = marksFrom(near(made.beats).filter(at => at >= 0));
      const marks = marksFrom(near(made.marks).filter(at => at >= 0));
      const [a, b] = [beats[5]!, beats[6]!];
      const third = Math.floor((b - a) / 3);
      const unreadable = third > 1 ? [span(a + 1, a + third), span(b - third, b)] : [];
      const score = scoreRecording({ ...made, beats, marks, unreadable, gaps: [] });
      const expected = plainly(score);
      expect(score.segments.map(s => s.counts)).toEqual(expected.map(e => e.counts));
    }
  });

  test('counts a second mark on a beat against the interval it lies in, and against no other', () => {
    const whole = (beats: number[], marks: number[], unreadable: readonly Span[] = []) =>
      scoreRecording({
        ...segmented(1, [['rest', 0, 1000]]),
        beats: marksFrom(beats),
        marks: marksFrom(marks),
        unreadable,
        gaps: [],
      });
    const after = whole([100, 200, 300], [100, 200, 202, 300]);
    expect([...after.outcomes]).toEqual([IntervalOutcome.right, IntervalOutcome.extra]);
    expect(after.total.counts).toMatchObject({ judged: 2, right: 1, wrongByExtra: 1, ownIntervals: 3, ownRight: 1 });
    const before = whole([100, 200, 300], [100, 198, 200, 300]);
    expect([...before.outcomes]).toEqual([IntervalOutcome.extra, IntervalOutcome.right]);
    const close = whole([100, 200, 206, 300], [100, 200, 206, 300]);
    expect(close.total.counts).toMatchObject({ judged: 3, right: 3, ownRight: 3 });
    const twice = whole([100, 200, 300], [100, 200, 300], [span(220, 230), span(260, 270)]);
    expect(twice.total.counts).toMatchObject({ judged: 1, right: 1, lost: 1, ownIntervals: 1, ownRight: 1 });
  });

  test('leaves what is in the next segment out of one that has nothing', () => {
    const beats = [500, 600, 700];
    const score = scoreRecording({
      ...segmented(1, [
        ['rest', 0, 300],
        ['approach hike', 300, 800],
        ['uphill run', 800, 900],
      ]),
      beats: marksFrom(beats),
      marks: marksFrom([340, ...beats]),
      unreadable: [],
      gaps: [],
    });
    const none = { beats: 0, marks: 0, extra: 0, offPeakMarks: 0, ownIntervals: 0, judged: 0 };
    expect(score.segments[0]!.counts).toMatchObject(none);
    expect(score.segments[1]!.counts).toMatchObject({ beats: 3, marks: 4, extra: 1, offPeakMarks: 1, ownIntervals: 3 });
    expect(score.segments[2]!.counts).toMatchObject(none);
  });

  test('takes no measure from an interval that ends on the end of its segment, which lies outside', () => {
    const lostBefore = (end: number) =>
      scoreRecording({
        ...segmented(1, [['rest', 0, end]]),
        beats: marksFrom([200, 300]),
        marks: marksFrom([]),
        unreadable: [span(10, 150)],
        gaps: [],
      }).total.counts.lost;
    expect([lostBefore(300), lostBefore(301)]).toEqual([null, 2]);
  });

  test('gives an interval across a boundary to neither segment', () => {
    const beats = marksFrom([100, 200, 300, 400]);
    const two = segmented(1, [
      ['rest', 0, 250],
      ['approach hike', 250, 500],
    ]);
    const { segments } = scoreRecording({ ...two, beats, marks: beats, unreadable: [], gaps: [] });
    for (const { counts } of segments) {
      expect(counts).toMatchObject({ beats: 2, marks: 2, judged: 1, right: 1, ownIntervals: 1, ownRight: 1 });
    }
  });

  test('of a recording without segments is nothing', () => {
    const { total, segments } = scoreRecording({ ...madeUp(1), segments: [] });
    expect(segments).toEqual([]);
    expect(total.counts).toMatchObject({ beats: 0, judged: 0, lost: 0, seconds: 0 });
    expect(total.segment).toMatchObject({ start: 0, end: 0 });
  });

  test('cannot say what is lost where nothing is judged anywhere', () => {
    const score = scoreRecording({
      ...madeUp(1),
      beats: marksFrom([]),
      unreadable: [span(100, 200)],
      gaps: [span(800, 900)],
    });
    expect(score.segments.map(s => s.counts.lost)).toEqual([null, 0, null]);
    expect(score.total.counts).toMatchObject({ lost: null, lostUnreadable: null, lostNoSignal: null, judged: 0 });
  });
});
