import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../../src/core/marks/markset';
import {
  coverageOf,
  coverageOfAll,
  maySignOff,
  nextUnseen,
  openSegments,
} from '../../../../../src/core/review/standing/coverage';
import { sampleIndex, span } from '../../../../../src/core/units';
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
