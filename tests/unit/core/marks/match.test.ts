import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import { BeatOutcome, match } from '../../../../src/core/marks/match';
import { covers, normalise } from '../../../../src/core/marks/spans';
import { span } from '../../../../src/core/units';
import { amount } from '../../amount';

/** The definition read aloud: every candidate pair of a step in one list, sorted, taken greedily. Slow and obvious. */
function bruteForce(beats: number[], marks: number[], excluded: [number, number][], rateHz: number) {
  const inside = (x: number) => excluded.some(([a, b]) => x >= a && x < b);
  const r = beats.filter(x => !inside(x));
  const d = marks.filter(x => !inside(x));
  const partner = new Map<number, { mark: number; outcome: BeatOutcome }>();
  const taken = new Set<number>();
  const step = (limitMs: number, outcome: BeatOutcome, allowed: (k: number, mark: number) => boolean) => {
    const pairs = r.flatMap((beat, k) =>
      d.flatMap(mark =>
        !partner.has(beat) && !taken.has(mark) && Math.abs(mark - beat) * 1000 <= limitMs * rateHz && allowed(k, mark)
          ? [{ beat, mark }]
          : [],
      ),
    );
    pairs.sort((a, b) => Math.abs(a.mark - a.beat) - Math.abs(b.mark - b.beat) || a.beat - b.beat || a.mark - b.mark);
    for (const { beat, mark } of pairs) {
      if (partner.has(beat) || taken.has(mark)) continue;
      partner.set(beat, { mark, outcome });
      taken.add(mark);
    }
  };
  step(50, BeatOutcome.onPeak, () => true);
  step(400, BeatOutcome.wrongPeak, (k, mark) => mark > (r[k - 1] ?? -Infinity) && mark < (r[k + 1] ?? Infinity));
  return r.map(beat => partner.get(beat) ?? { mark: null, outcome: BeatOutcome.missed });
}

const sorted = (max: number, maxLength: number) =>
  fc.uniqueArray(fc.integer({ min: 0, max }), { maxLength }).map(a => a.sort((x, y) => x - y));

describe('match', () => {
  test('equals the brute-force reading of the definition on crowded random sets', () => {
    const spans = fc.array(fc.tuple(fc.integer({ min: 0, max: 300 }), fc.integer({ min: 0, max: 60 })), {
      maxLength: 3,
    });
    fc.assert(
      fc.property(sorted(300, 40), sorted(300, 40), spans, (beats, marks, raw) => {
        const excluded = raw.map(([a, n]): [number, number] => [a, a + n]);
        const got = match(
          marksFrom(beats),
          marksFrom(marks),
          excluded.map(([a, b]) => span(a, b)),
          100,
        );
        const pairs = [...got.beats].map((_, k) => ({
          mark: got.markOfBeat[k] === -1 ? null : got.marks[got.markOfBeat[k]!]!,
          outcome: got.outcome[k],
        }));
        expect(pairs).toEqual(bruteForce(beats, marks, excluded, 100));
      }),
      { numRuns: amount(3000, 200), seed: 20261125 },
    );
  });

  test('lists what is off the peak, moved or doubtful, and nothing that is not listed is', () => {
    fc.assert(
      fc.property(sorted(900, 30), sorted(900, 30), (beats, marks) => {
        const got = match(marksFrom(beats), marksFrom(marks), [], 100);
        const { onPeak } = BeatOutcome;
        const indices = (length: number) => Array.from({ length }, (_, i) => i);
        const isOnPeak = (k: number) => got.outcome[k] === onPeak;
        expect([...got.beatsOffPeak]).toEqual(indices(got.beats.length).filter(k => !isOnPeak(k)));
        const met = new Set(
          indices(got.beats.length)
            .filter(isOnPeak)
            .map(k => got.markOfBeat[k]),
        );
        expect([...got.marksOffPeak]).toEqual(indices(got.marks.length).filter(j => !met.has(j)));
        for (const k of indices(got.beats.length)) {
          const away = isOnPeak(k) && got.marks[got.markOfBeat[k]!] !== got.beats[k];
          expect(got.moved[k]).toBe(away ? 1 : 0);
        }
        const doubtful = [...got.doubtful];
        expect(doubtful).toEqual([...new Set(doubtful)].sort((a, b) => a - b));
        for (const k of indices(got.beats.length - 1).filter(i => !doubtful.includes(i))) {
          expect([isOnPeak(k), isOnPeak(k + 1)]).toEqual([true, true]);
          expect(got.markOfBeat[k + 1]! - got.markOfBeat[k]!).toBe(1);
        }
      }),
      { numRuns: amount(3000, 200), seed: 20261126 },
    );
  });

  test('partners are mutual and every beat and mark is accounted for', () => {
    fc.assert(
      fc.property(sorted(2000, 60), sorted(2000, 60), (beats, marks) => {
        const got = match(marksFrom(beats), marksFrom(marks), [], 100);
        for (const [k, j] of got.markOfBeat.entries()) if (j !== -1) expect(got.beatOfMark[j]).toBe(k);
        const paired = [...got.markOfBeat].filter(j => j !== -1).length;
        expect([...got.beatOfMark].filter(k => k !== -1).length).toBe(paired);
        expect([...got.outcome].filter(o => o !== BeatOutcome.missed).length).toBe(paired);
      }),
      { numRuns: amount(500, 20), seed: 7 },
    );
  });

  test('a tie goes to the earlier beat, then to the earlier mark', () => {
    const twoBeats = match(marksFrom([100, 104]), marksFrom([102]), [], 1000);
    expect([...twoBeats.outcome]).toEqual([BeatOutcome.onPeak, BeatOutcome.missed]);
    const twoMarks = match(marksFrom([102]), marksFrom([100, 104]), [], 1000);
    expect([...twoMarks.beatOfMark]).toEqual([0, -1]);
  });

  test('a tie at the very end of the tolerance goes to the earlier beat too', () => {
    const got = match(marksFrom([1000, 1100]), marksFrom([1050]), [], 1000);
    expect([...got.outcome]).toEqual([BeatOutcome.onPeak, BeatOutcome.missed]);
    expect([...got.beatOfMark]).toEqual([0]);
  });

  // source: by hand; 50 ms is on the peak, also where the nearer mark or beat is another's
  test('in a crowd the tolerance includes its end, and nothing beyond it', () => {
    const { onPeak, missed } = BeatOutcome;
    const laterMark = match(marksFrom([970, 1000]), marksFrom([980, 1050]), [], 1000);
    expect([[...laterMark.outcome], [...laterMark.markOfBeat]]).toEqual([
      [onPeak, onPeak],
      [0, 1],
    ]);
    const laterBeat = match(marksFrom([980, 1050]), marksFrom([970, 1000]), [], 1000);
    expect([[...laterBeat.outcome], [...laterBeat.markOfBeat]]).toEqual([
      [onPeak, onPeak],
      [0, 1],
    ]);
    const chain = match(marksFrom([1000, 1040]), marksFrom([1045, 1085]), [], 1000);
    expect([[...chain.outcome], [...chain.beatOfMark]]).toEqual([
      [missed, onPeak],
      [1, -1],
    ]);
  });

  test('a mark beyond a neighbouring beat, though by one sample, is no wrong peak', () => {
    const before = match(marksFrom([1000, 1200]), marksFrom([999, 1000]), [], 1000);
    expect([[...before.outcome], [...before.beatOfMark]]).toEqual([
      [BeatOutcome.onPeak, BeatOutcome.missed],
      [-1, 0],
    ]);
    const after = match(marksFrom([1000, 1200]), marksFrom([1200, 1201]), [], 1000);
    expect([[...after.outcome], [...after.beatOfMark]]).toEqual([
      [BeatOutcome.missed, BeatOutcome.onPeak],
      [1, -1],
    ]);
    const between = match(marksFrom([1000, 1200]), marksFrom([1000, 1001]), [], 1000);
    expect([...between.outcome]).toEqual([BeatOutcome.onPeak, BeatOutcome.wrongPeak]);
  });

  test('the tolerance and the window include their ends', () => {
    const at = (mark: number) => match(marksFrom([1000]), marksFrom([mark]), [], 1000).outcome[0];
    expect([at(1050), at(1051), at(1400), at(1401)]).toEqual([
      BeatOutcome.onPeak,
      BeatOutcome.wrongPeak,
      BeatOutcome.wrongPeak,
      BeatOutcome.missed,
    ]);
  });

  test('spans are half-open: a mark on the end of one is kept', () => {
    const excluded = normalise([span(10, 20)]);
    expect([covers(excluded, 10), covers(excluded, 19), covers(excluded, 20)]).toEqual([true, true, false]);
    expect([...match(marksFrom([10, 20]), marksFrom([19, 20]), excluded, 100).beats]).toEqual([20]);
  });
});
