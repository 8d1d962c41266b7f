import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import { BeatOutcome, match } from '../../../../src/core/marks/match';
import { covers, normalise } from '../../../../src/core/marks/spans';
import { markVerdicts, Verdict, verdicts } from '../../../../src/core/marks/verdicts';
import { type Span, span } from '../../../../src/core/units';
import { amount } from '../../amount';

const rate = 1000;
const names = (list: Uint8Array) => [...list].map(v => Verdict[v]);

describe('verdicts of marks', () => {
  // source: domain.md "Three mistakes of a detector" and "Matching": tolerance 50 ms, window 400 ms
  it('tells kept, refined, moved, removed and inserted apart', () => {
    const detected = marksFrom([1000, 2020, 3300, 4500, 5000]);
    const reviewed = marksFrom([1000, 2000, 3000, 4000, 5000, 6000]);
    const v = verdicts(detected, reviewed, [], rate);
    expect(names(v.ofDetected)).toEqual(['kept', 'refined', 'moved', 'removed', 'kept']);
    expect(names(v.ofReviewed)).toEqual(['kept', 'refined', 'moved', 'inserted', 'kept', 'inserted']);
    expect([...v.reviewedOf]).toEqual([0, 1, 2, -1, 4]);
    expect([...v.detectedOf]).toEqual([0, 1, 2, -1, 4, -1]);
  });

  it('judges nothing inside an unreadable span, and keeps the places of the marks around it', () => {
    const v = verdicts(marksFrom([100, 500, 900]), marksFrom([100, 510, 900]), [span(400, 600)], rate);
    expect(names(v.ofDetected)).toEqual(['kept', 'unreadable', 'kept']);
    expect(names(v.ofReviewed)).toEqual(['kept', 'unreadable', 'kept']);
    expect([...v.reviewedOf]).toEqual([0, -1, 2]);
  });

  it('gives empty lists for empty sets', () => {
    const v = verdicts(marksFrom([]), marksFrom([]), [], rate);
    expect([v.ofDetected.length, v.ofReviewed.length]).toEqual([0, 0]);
  });

  // source: a slow restatement by sample value instead of index, over the matcher tested in match.test.ts
  it('agrees with a restatement by sample on random sets', () => {
    const sample = fc.integer({ min: 0, max: 4000 });
    const spans = fc.array(fc.tuple(sample, fc.integer({ min: 1, max: 500 })), { maxLength: 3 });
    fc.assert(
      fc.property(fc.array(sample, { maxLength: 25 }), fc.array(sample, { maxLength: 25 }), spans, (d, r, s) => {
        const detected = marksFrom(d);
        const reviewed = marksFrom(r);
        const excluded = s.map(([start, length]) => span(start, start + length));
        const v = verdicts(detected, reviewed, excluded, rate);
        expect([...v.ofReviewed]).toEqual([...reviewed].map(m => slowReviewed(m, detected, reviewed, excluded)));
        expect([...v.ofDetected]).toEqual([...detected].map(m => slowDetected(m, detected, reviewed, excluded)));
        const one = markVerdicts(match(reviewed, detected, excluded, rate), detected, reviewed);
        // From the last to the first, as nobody asks who goes through all.
        for (const [k, verdict] of [...v.ofReviewed.entries()].reverse()) {
          expect([one.ofReviewed(k), one.detectedOf(k)]).toEqual([verdict, v.detectedOf[k]]);
        }
        for (const [j, verdict] of [...v.ofDetected.entries()].reverse()) {
          expect([one.ofDetected(j), one.reviewedOf(j)]).toEqual([verdict, v.reviewedOf[j]]);
        }
        for (const [i, k] of v.reviewedOf.entries()) if (k !== -1) expect(v.detectedOf[k]).toBe(i);
      }),
      { seed: 11, numRuns: amount(300, 40) },
    );
  });
});

function slowReviewed(at: number, detected: Int32Array, reviewed: Int32Array, excluded: Span[]): Verdict {
  if (covers(normalise(excluded), at)) return Verdict.unreadable;
  const m = match(reviewed, detected, excluded, rate);
  const k = m.beats.indexOf(at);
  const partner = m.marks[m.markOfBeat[k]!];
  if (m.outcome[k] === BeatOutcome.missed) return Verdict.inserted;
  if (m.outcome[k] === BeatOutcome.wrongPeak) return Verdict.moved;
  return partner === at ? Verdict.kept : Verdict.refined;
}

function slowDetected(at: number, detected: Int32Array, reviewed: Int32Array, excluded: Span[]): Verdict {
  if (covers(normalise(excluded), at)) return Verdict.unreadable;
  const m = match(reviewed, detected, excluded, rate);
  const beat = m.beats[m.beatOfMark[m.marks.indexOf(at)]!];
  return beat === undefined ? Verdict.removed : slowReviewed(beat, detected, reviewed, excluded);
}
