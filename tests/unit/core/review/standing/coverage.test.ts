import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../../src/core/marks/markset';
import { normalise } from '../../../../../src/core/marks/spans';
import {
  coverageOf,
  coverageOfAll,
  coveredAmong,
  coveredPieces,
  maySignOff,
  nextUnseen,
  openSegments,
} from '../../../../../src/core/review/standing/coverage';
import { sampleIndex, span } from '../../../../../src/core/units';
import { amount } from '../../../amount';
import { editing, recordingWith, sessionWith } from '../sample-session';

const segments: [string, number, number][] = [
  ['rest', 0, 500],
  ['approach hike', 500, 1000],
];
const item = recordingWith({ detected: [50, 150, 250, 350, 550, 650], segments, gaps: [[400, 450]] });
const [rest, hike] = item.segments;

// source: the definition of coverage in this project; the figures follow from the planted spans by arithmetic.
describe('coverage', () => {
  test('nothing looked at', () => {
    const c = coverageOf(item, editing(item).review, rest!);
    expect(c).toMatchObject({ share: 0, seenSeconds: 0, totalSeconds: 4.5, marksLookedAt: 0, marksTotal: 4 });
    expect(c.unseen).toEqual([span(0, 400), span(450, 500)]);
    expect([...c.marksLeft]).toEqual([50, 150, 250, 350]);
    expect(c.covered).toBe(false);
  });

  test('accepted, deleted, moved, inserted and unreadable marks all count as looked at', () => {
    const { review } = editing(item, {
      marks: marksFrom([50, 160, 300, 350, 550, 650]), // 150 moved to 160, 250 deleted, 300 inserted
      accepted: [span(50, 51)],
      unreadable: [span(340, 380)],
      seen: [span(0, 90)],
    });
    const c = coverageOf(item, review, rest!);
    expect(c.marksTotal).toBe(6); // 50, 150, 160, 250, 300, 350
    expect(c.marksLookedAt).toBe(6);
    expect(c.share).toBe(0.2); // 0.9 s of 4.5 s
  });

  test('the share is that of the part that lags behind', () => {
    const c = coverageOf(item, editing(item, { seen: [span(0, 500)], accepted: [span(0, 100)] }).review, rest!);
    expect(c.share).toBe(0.25);
    expect(c.covered).toBe(false);
  });

  // source: the definition does not know what stood there before
  test('is the same whatever was found in the recording before', () => {
    const marks = fc.uniqueArray(fc.integer({ min: 0, max: 999 }), { maxLength: 30 });
    const spans = fc.array(fc.tuple(fc.integer({ min: 0, max: 999 }), fc.integer({ min: 1, max: 200 })), {
      maxLength: 4,
    });
    const state = fc.record({
      marks,
      accepted: spans,
      unreadable: spans,
      part: fc.constantFrom('all', 'marks', 'spans'),
    });
    fc.assert(
      fc.property(marks, fc.array(state, { minLength: 2, maxLength: 5 }), (detected, states) => {
        const used = recordingWith({ detected: [...detected].sort((a, b) => a - b), segments, gaps: [[400, 450]] });
        let { review } = editing(used);
        for (const s of states) {
          const list = (all: [number, number][]) => normalise(all.map(([start, n]) => span(start, start + n)));
          if (s.part !== 'spans')
            review = { ...review, marks: marksFrom([...detected.slice(4), ...s.marks.slice(0, 3)]) };
          if (s.part !== 'marks')
            review = { ...review, accepted: list(s.accepted), unreadable: list(s.unreadable.slice(0, 1)) };
          for (const segment of used.segments)
            expect(coverageOf(used, review, segment)).toEqual(coverageOf({ ...used }, review, segment));
        }
      }),
      { seed: 14, numRuns: amount(1000, 100) },
    );
  });

  test('all seen and accepted is covered, though the gap was never shown', () => {
    const { review } = editing(item, { seen: [span(0, 400), span(450, 500)], accepted: [span(0, 351)] });
    expect(coverageOf(item, review, rest!)).toMatchObject({ share: 1, covered: true });
    expect(maySignOff(item, review, rest!)).toEqual({ covered: true });
  });

  test('says in words what is left', () => {
    const { review } = editing(item, { seen: [span(500, 999)], accepted: [span(500, 600)] });
    expect(maySignOff(item, review, hike!)).toEqual({
      covered: false,
      left: '0.1 s not seen and 1 mark not looked at',
    });
  });

  test('next unseen place: stretches and marks, going round to the start', () => {
    const { review } = editing(item, { seen: [span(0, 700)], accepted: [span(0, 260), span(500, 700)] });
    const next = (from: number) => nextUnseen(item, review, from);
    expect(next(0)).toBe(350);
    expect(next(351)).toBe(700);
    expect(next(720)).toBe(720);
    expect(nextUnseen(item, { ...review, seen: [span(0, 1000)] }, 800)).toBe(350);
    expect(nextUnseen(item, { ...review, seen: [span(0, 1000)], accepted: [span(0, 1000)] }, 0)).toBeNull();
  });

  test('what is on the screen counts as seen, its marks do not count as looked at', () => {
    const { review } = editing(item, { seen: [span(0, 700)], accepted: [span(0, 260), span(500, 700)] });
    expect(nextUnseen(item, review, 720, span(700, 800))).toBe(800);
    const seen = { ...review, seen: [span(0, 900)], accepted: [span(0, 1000)] };
    expect(nextUnseen(item, seen, 0, span(880, 1000))).toBeNull();
    expect(nextUnseen(item, { ...seen, accepted: review.accepted }, 0, span(340, 400))).toBe(350);
  });

  test('all segments together', () => {
    const all = coverageOfAll(item, editing(item, { seen: [span(0, 500)], accepted: [span(0, 1000)] }).review);
    expect(all).toMatchObject({ totalSeconds: 9.5, seenSeconds: 4.5, marksTotal: 6, marksLookedAt: 6, covered: false });
    expect(all.share).toBeCloseTo(4.5 / 9.5, 12);
    expect(all.segment).toEqual({ name: 'all segments', start: 0, end: 1000 });
  });

  test('pieces: every sample that was shown, less the marks not looked at and what is left out', () => {
    const seen = [span(20, 260), span(300, 420), span(440, 490)];
    const { review } = editing(item, { seen, accepted: [span(100, 200)] });
    const open = [span(310, 320), span(345, 352)];
    const pieces = coveredPieces(item, review, rest!, open);
    const inGap = (at: number) => at >= 400 && at < 450;
    // Cell by cell: shown or gap, no mark of 50, 250 and 350, nothing open; a stretch of nothing but gap counts nowhere.
    const cells = Array.from({ length: 500 }, (_, at) => {
      const shown = inGap(at) || seen.some(s => at >= s.start && at < s.end);
      return shown && ![50, 250, 350].includes(at) && !open.some(s => at >= s.start && at < s.end);
    });
    expect(pieces.flatMap(p => Array.from({ length: p.end - p.start }, (_, i) => p.start + i))).toEqual(
      [...cells.keys()].filter(at => cells[at]),
    );
    expect(coveredPieces(item, editing(item, { seen: [span(0, 300)] }).review, rest!).at(-1)).toEqual(span(251, 300));
  });

  test('stretches covered: those that, each as a segment of its own, are covered', () => {
    const stretches = Array.from({ length: 20 }, (_, i) => span(50 * i, 50 * (i + 1)));
    const spans = fc.array(fc.tuple(fc.integer({ min: 0, max: 980 }), fc.integer({ min: 1, max: 300 })), {
      maxLength: 3,
    });
    const joined = (list: [number, number][]) => normalise(list.map(([at, n]) => span(at, Math.min(1000, at + n))));
    fc.assert(
      fc.property(spans, spans, fc.subarray(stretches), (seen, accepted, left) => {
        const { review } = editing(item, { seen: joined(seen), accepted: joined(accepted) });
        const known = new Set(left.map(s => s.start as number));
        const plain = [...stretches.entries()].filter(
          ([, s]) => !known.has(s.start) && coverageOf(item, review, { name: 'stretch', ...s }).covered,
        );
        expect(coveredAmong(item, review, stretches, known)).toEqual(plain.map(([i]) => i));
      }),
      { numRuns: 50 },
    );
  });

  test('segments that overlap or stand in no order: each mark left once, in order', () => {
    const overlapping = recordingWith({
      detected: [50, 150, 250, 350],
      segments: [
        ['late', 200, 400],
        ['early', 0, 300],
      ],
    });
    const all = coverageOfAll(overlapping, editing(overlapping).review);
    expect([...all.marksLeft]).toEqual([50, 150, 250, 350]);
    expect(all.unseen).toEqual([span(0, 400)]);
  });

  test('the same review of a recording with other segments or gaps is worked out anew', () => {
    const { review } = editing(item, { seen: [span(0, 500)], accepted: [span(0, 500)] });
    expect(coverageOf(item, review, rest!).covered).toBe(true);
    const longer = { ...rest!, ...span(0, 700) };
    expect(coverageOf({ ...item, segments: [longer] }, review, longer).covered).toBe(false);
    const other = recordingWith({ detected: [60, 900], segments });
    expect(coverageOf(other, review, rest!).marksTotal).toBe(5);
  });

  test('a recording without segments is one segment; signed-off segments are no longer open', () => {
    const plain = recordingWith({ detected: [10], id: 'logger' });
    const session = sessionWith(item, plain);
    const signed = editing(item, { signOffs: [{ segment: 'rest', at: '2026-02-15T10:00:00Z', reason: null }] }).review;
    const open = openSegments(session, new Map([['chest-band', signed]]));
    expect(open.map(o => [o.recording, o.segment.name])).toEqual([
      ['chest-band', 'approach hike'],
      ['logger', 'whole'],
    ]);
    expect(coverageOf(plain, editing(plain).review, open[1]!.segment).totalSeconds).toBe(10);
    expect(nextUnseen(plain, editing(plain).review, sampleIndex(999))).toBe(999);
  });
});
