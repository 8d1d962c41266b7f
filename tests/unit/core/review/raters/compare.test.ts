import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import { intersect, normalise } from '../../../../../src/core/marks/spans';
import { compareRaters, isSameRater, raterOf } from '../../../../../src/core/review/raters/compare';
import { span } from '../../../../../src/core/units';
import { anyReview, beats, type Given, item, review } from '../planted-reviews';
import { recordingWith } from '../sample-session';

const compare = (a: Given, b: Given, on = item) =>
  compareRaters({ item: on, a: review(a, on), b: review(b, on), settings: defaultMatchSettings });

const kinds = (c: ReturnType<typeof compare>) => c.disagreements.map(d => [d.kind, d.at]);

// source: planted disagreements, every count and fraction worked out by hand from the definitions.
describe('two raters', () => {
  test('equal reviews agree in all', () => {
    const c = compare({ without: [550] }, { without: [550] });
    expect(c.total).toMatchObject({ agreed: 20, onlyA: 0, onlyB: 0, placedApart: 0, beatsA: 20, beatsB: 20 });
    expect(c.total.f1).toEqual({ value: 1, n: 40 });
    expect(c.total.qualityDifference).toMatchObject({ value: 0 });
    expect(c.total.verdictTable).toEqual([
      [20, 0, 0, 0],
      [0, 0, 0, 0],
      [0, 0, 1, 0],
      [0, 0, 0, 0],
    ]);
    expect(c.total.kappa.value).toBe(1);
    expect(c.total.spanJaccard.value).toBeNull();
    expect(c.disagreements).toEqual([]);
  });

  test('planted: only A, only B, placed apart', () => {
    // A keeps every detected mark and adds one at 600. B removes 250 and 1550, moves 1150 by 0.2 s.
    const c = compare({ with: [600] }, { without: [250, 1150, 1550], with: [1170] });
    const [rest, run] = c.segments;
    expect(rest).toMatchObject({ beatsA: 11, beatsB: 9, agreed: 9, onlyA: 2, onlyB: 0, placedApart: 0 });
    expect(rest!.f1).toEqual({ value: 18 / 20, n: 20 });
    expect(run).toMatchObject({ beatsA: 11, beatsB: 10, agreed: 9, onlyA: 1, onlyB: 0, placedApart: 1 });
    expect(run!.f1).toEqual({ value: 18 / 21, n: 21 });
    expect(c.total).toMatchObject({ beatsA: 22, beatsB: 19, agreed: 18, onlyA: 3, placedApart: 1 });
    expect(c.total.f1).toEqual({ value: 36 / 41, n: 41 });
    expect(kinds(c)).toEqual([
      ['only A', 250],
      ['only A', 600],
      ['placed apart', 1150],
      ['only A', 1550],
    ]);
    expect(c.disagreements[2]).toMatchObject({ a: 1150, b: 1170, apartMs: 200, segment: 'uphill run' });
    // rest by A: 11 beats, 600 missed: 8 of 10 right. By B: 9 beats, detected 250 extra between 150 and 350: 7 of 8.
    expect(rest!.qualityA).toEqual({ value: 80, n: 10 });
    expect(rest!.qualityB).toEqual({ value: 87.5, n: 8 });
    expect(rest!.qualityDifference).toEqual({ value: -7.5, n: 8 });
    // run by A: 10 of 10. By B: 9 intervals, two at the wrong peak 1170, one around the extra mark 1550: 6 of 9.
    expect(run!.qualityA).toEqual({ value: 100, n: 10 });
    expect(run!.qualityB.value).toBeCloseTo((100 * 6) / 9, 12);
    expect(run!.qualityDifference.value).toBeCloseTo(100 / 3, 12);
    expect(c.total.verdictTable).toEqual([
      [18, 1, 2, 0],
      [0, 0, 0, 0],
      [0, 0, 0, 0],
      [0, 0, 0, 0],
    ]);
    // source: Cohen 1960: A used one category only, so observed = chance agreement = 18/21 and kappa is 0.
    expect(c.total.kappa.value).toBeCloseTo(0, 12);
  });

  test('within the tolerance is agreed, one sample beyond is placed apart', () => {
    expect(compare({}, { without: [550], with: [555] }).total).toMatchObject({ agreed: 21, placedApart: 0 });
    expect(compare({}, { without: [550], with: [556] }).total).toMatchObject({ agreed: 20, placedApart: 1 });
    expect(compare({}, { without: [550], with: [591] }).total).toMatchObject({ agreed: 20, onlyA: 1, onlyB: 1 });
  });

  test('unreadable spans: compared by overlap, their beats left out of the matching', () => {
    const c = compare({ unreadable: [[200, 600]] }, { unreadable: [[300, 700]], without: [850] });
    const rest = c.segments[0]!;
    expect(rest.spanJaccard).toEqual({ value: 300 / 500, n: 500 });
    expect(rest).toMatchObject({ beatsA: 5, beatsB: 4, agreed: 4, onlyA: 1 }); // 50, 150, 750, 850, 950
    expect(c.disagreements.map(d => [d.kind, d.at, d.unreadableBy])).toEqual([
      ['span differs', 200, 'A'],
      ['span differs', 600, 'B'],
      ['only A', 850, null],
    ]);
    // 250 by A only, 350 450 550 by both, 650 by B only; 850 removed by B.
    expect(rest.verdictTable).toEqual([
      [4, 0, 1, 1],
      [0, 0, 0, 0],
      [0, 0, 0, 0],
      [1, 0, 0, 3],
    ]);
    // Cohen's kappa by hand: observed 7/10; chance (6*5 + 0 + 0*1 + 4*4)/100 = 0.46; (0.7 - 0.46) / 0.54.
    expect(rest.kappa.value).toBeCloseTo(0.24 / 0.54, 12);
    expect(c.segments[1]!.spanJaccard.value).toBeNull();
  });

  test('edges of a common span that no mark lies in are no disagreement; a span of its own is', () => {
    expect(kinds(compare({ unreadable: [[200, 400]] }, { unreadable: [[210, 420]] }))).toEqual([]);
    expect(kinds(compare({ unreadable: [[200, 400]] }, { unreadable: [[260, 420]] }))).toEqual([['span differs', 200]]);
    expect(kinds(compare({ unreadable: [[260, 300]] }, {}))).toEqual([['span differs', 260]]);
    // The edge reaches into the next segment, which loses an interval by A and none by B.
    const across = compare({ unreadable: [[900, 1020]] }, { unreadable: [[900, 990]] });
    expect(kinds(across)).toEqual([['span differs', 990]]);
    expect(across.segments[1]!.qualityA).toEqual({ value: (100 * 10) / 11, n: 11 });
    expect(across.segments[1]!.qualityB).toEqual({ value: 100, n: 10 });
  });

  test('gaps are nobody’s verdict', () => {
    const gapped = recordingWith({ detected: beats, sampleCount: 2100, gaps: [[500, 700]] });
    const c = compare({ unreadable: [[480, 700]] }, {}, gapped);
    expect(c.total.verdictTable.flat().reduce((a, b) => a + b, 0)).toBe(19);
    expect(c.disagreements).toEqual([]); // [480, 500) borders on the gap and holds no mark
    expect(c.total.spanJaccard).toEqual({ value: 0, n: 20 });
  });

  test('nothing to compare says why', () => {
    const c = compare({ unreadable: [[0, 2100]] }, {});
    expect(c.total.f1).toEqual({ value: null, reason: 'neither rater has a beat in what both could read' });
    expect(c.total.qualityDifference).toEqual({ value: null, reason: 'by A: no readable beat' });
    expect(kinds(c)).toEqual([['span differs', 0]]);
  });

  test('a second rating is the same rater', () => {
    expect(isSameRater({ rater: 'R1' }, { rater: 'R1.2' })).toBe(true);
    expect(isSameRater({ rater: 'R1' }, { rater: 'R2' })).toBe(false);
    expect(['R1', 'R1.2', 'A.B', '.2'].map(raterOf)).toEqual(['R1', 'R1', 'A.B', '.2']);
  });
});

describe('properties', () => {
  // source: the definitions: counts add up, agreement does not depend on who is called A, territories are disjoint.
  test('counts add up, agreement is symmetric, territories are disjoint and hold no agreed beat', () => {
    fc.assert(
      fc.property(anyReview, anyReview, (a, b) => {
        const c = compare(a, b);
        const mirrored = compare(b, a);
        const t = c.total;
        expect(t.agreed + t.placedApart + t.onlyA).toBe(t.beatsA);
        expect(t.agreed + t.placedApart + t.onlyB).toBe(t.beatsB);
        expect(mirrored.total.agreed).toBe(t.agreed);
        expect(mirrored.total.f1).toEqual(t.f1);
        expect(mirrored.total.verdictTable).toEqual(t.verdictTable.map((_, i) => t.verdictTable.map(row => row[i])));
        const all = c.disagreements.flatMap(d => d.territory);
        const length = all.reduce((n, s) => n + s.end - s.start, 0);
        expect(normalise(all).reduce((n, s) => n + s.end - s.start, 0)).toBe(length);
        for (const d of c.disagreements) {
          for (const m of [d.a, d.b]) {
            if (m !== null) expect(intersect(d.territory, [span(m, m + 1)])).toHaveLength(1);
          }
        }
        const { matching } = c.raters;
        matching.beats.forEach((beat, k) => {
          if (matching.outcome[k] === 1) expect(intersect(all, [span(beat, beat + 1)])).toEqual([]);
        });
      }),
      { numRuns: 100, seed: 20260217 },
    );
  });
});
