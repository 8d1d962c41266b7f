import { expect, test } from 'vitest';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import { deleteMark } from '../../../../../src/core/review/edits';
import { compareRaters } from '../../../../../src/core/review/raters/compare';
import { sampleIndex } from '../../../../../src/core/units';
import { Rater, trueBeats } from '../standing/sampled-session';

// Two raters drew the same stretches; beats and disagreements are counted by hand from these.

test('two raters of one sample are compared over the stretches that both have reviewed', () => {
  const [a, b] = [new Rater(), new Rater()];
  for (const rater of [a, b]) rater.plan(null);
  const ofA = Array.from({ length: 30 }, () => a.take());
  const ofB = Array.from({ length: 20 }, () => b.take());
  expect(ofB).toEqual(ofA.slice(0, 20));
  const { stretches } = a.laidOut;
  const both = ofB.map(i => stretches[i]!);
  const inBoth = trueBeats().filter(t => both.some(s => t >= s.start && t < s.end));
  // Wherever the two agree about the rest of the recording, nobody has looked.
  const gone = inBoth.find(t => t > both[3]!.start + 300)!;
  b.write('delete', deleteMark(b.editing, sampleIndex(gone)));

  const { item } = a;
  const reviews = { a: a.editing.review, b: b.editing.review };
  const { segments, total } = compareRaters({ item, ...reviews, settings: defaultMatchSettings });
  expect(total).toMatchObject({ beatsA: inBoth.length, beatsB: inBoth.length - 1, onlyA: 1, onlyB: 0 });
  expect(total.f1.value).toBeCloseTo((2 * (inBoth.length - 1)) / (2 * inBoth.length - 1), 12);
  const judged = total.verdictTable.flat().reduce((sum, n) => sum + n, 0);
  const detected = new Set(item.detected);
  expect(judged).toBe(inBoth.filter(t => detected.has(t)).length);
  expect(total.overSeconds).toBe(segments.reduce((sum, s) => sum + s.overSeconds!, 0));
  // 20 stretches of 10 s.
  expect(total.overSeconds).toBe(200);
  const segment = segments.find(s => gone >= s.segment.start && gone < s.segment.end)!;
  // The detected marks are wrong at a beat that is gone: by B two intervals are lost to an extra mark, or one joined.
  expect(segment.qualityDifference.value).toBeGreaterThan(0);
  expect(segment.qualityA.value).not.toBeNull();
});

test('a sample has no agreement with a review that was not begun', () => {
  const [a, b] = [new Rater(), new Rater()];
  a.plan(null);
  for (let n = 0; n < 12; n++) a.take();
  const { total } = compareRaters({
    item: a.item,
    a: a.editing.review,
    b: b.editing.review,
    settings: defaultMatchSettings,
  });
  // B has looked at nothing: there is nothing to agree about.
  expect(total).toMatchObject({ beatsA: 0, beatsB: 0, overSeconds: 0 });
  expect(total.f1.value).toBeNull();
});
