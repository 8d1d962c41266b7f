import { describe, expect, test } from 'vitest';
import { invert } from '../../../../../src/core/marks/edit';
import { marksFrom } from '../../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import { sessionScores } from '../../../../../src/core/report/session-scores';
import { acceptSpan, look } from '../../../../../src/core/review/edits';
import { planReview, sampledReviews, takeStretches } from '../../../../../src/core/review/standing/sampled';
import {
  sampledCountWords,
  sampledQualityWords,
  sampledWords,
} from '../../../../../src/core/review/standing/sampled-words';
import { scoreReview } from '../../../../../src/core/review/standing/score-review';
import { sampleIndex } from '../../../../../src/core/units';
import { Rater, trueBeats } from './sampled-session';

function numbers(rater: Rater) {
  const { review } = rater.editing;
  return sampledReviews(rater.item, review, scoreReview(rater.item, review, defaultMatchSettings))[0]!;
}

/** Quality of a full review, its lost intervals unrounded as in a sample: 3 s of gap, 0.8 s an interval. */
function truth(): number {
  const beats = marksFrom(trueBeats());
  const rater = new Rater();
  const score = scoreReview(rater.item, { marks: beats, unreadable: [] }, defaultMatchSettings);
  const { right, judged } = score.total.counts;
  return (100 * right) / (judged + 30 / 0.8);
}

describe('a sampled review in the log', () => {
  test('draws in the hidden order, knows what has no signal, and holds the truth', () => {
    const rater = new Rater();
    rater.plan(null);
    const { order } = rater.laidOut;
    // 50 stretches of rest and 70 of the walk; three lie in the gap.
    expect(numbers(rater).whole).toMatchObject({ stretches: 120, known: 3, drawn: 0 });
    const taken = Array.from({ length: 25 }, () => rater.take());
    const withSignal = [...order].filter(i => i < 60 || i > 62);
    expect(taken).toEqual(withSignal.slice(0, 25));
    const { whole } = numbers(rater);
    expect(whole).toMatchObject({ drawn: 25, known: 3, skipped: 0, reviewed: 28 });
    const [low, high] = whole.interval95!;
    expect(low).toBeLessThan(truth());
    expect(high).toBeGreaterThan(truth());
    expect(sampledWords(whole)).toBe('sampled, 28 of 120 stretches');
    expect(sampledCountWords(whole)).toBe('25 drawn, 3 known, 0 skipped');
    expect(sampledQualityWords(whole)).toMatch(/^9\d\.\d\d % \(95 % interval \d\d\.\d\d to 9\d\.\d\d %\)$/);
  });

  test('gives each segment a number of its own', () => {
    const rater = new Rater();
    rater.plan(null);
    for (let i = 0; i < 30; i++) rater.take();
    const { whole, segments } = numbers(rater);
    expect(segments.map(s => s.number.segment)).toEqual(['rest', 'walk']);
    expect(segments.map(s => s.number.stretches)).toEqual([50, 70]);
    expect(segments[0]!.number.drawn + segments[1]!.number.drawn).toBe(whole.drawn);
  });

  test('to its end is exact: the number of a full review', () => {
    const rater = new Rater();
    rater.plan(null);
    while (rater.next !== undefined) rater.take();
    const { whole } = numbers(rater);
    expect(whole).toMatchObject({ exact: true, reviewed: 120, reached: true });
    expect(whole.quality.value).toBeCloseTo(truth(), 6);
    expect(sampledWords(whole)).toBe('sampled, all 120 stretches reviewed');
  });

  test('counts a stretch looked at for another reason as known, before the next draw', () => {
    const rater = new Rater();
    rater.plan('walk');
    rater.take();
    const far = rater.laidOut.order[50]!;
    const stretch = rater.laidOut.stretches[far]!;
    rater.write('look', look(rater.editing, stretch));
    rater.write('accept', acceptSpan(rater.editing, stretch));
    // Three without signal.
    expect(numbers(rater).whole).toMatchObject({ drawn: 1, known: 4 });
    rater.take();
    const { sampled } = rater.editing.review;
    expect(sampled.map(e => [e.drawn, e.place])).toEqual([
      [true, 0],
      [false, 1],
      [true, 2],
    ]);
    expect(sampled[1]).toMatchObject({ start: stretch.start, end: stretch.end });
    expect(numbers(rater).whole).toMatchObject({ drawn: 2, known: 4, reviewed: 6 });
  });

  test('keeps a skipped stretch apart until it is reviewed', () => {
    const rater = new Rater();
    rater.plan('rest');
    const skipped = rater.take('skipped');
    rater.take();
    expect(numbers(rater).whole).toMatchObject({ drawn: 1, skipped: 1 });
    rater.write('accept', takeStretches(rater.editing, rater.laidOut, [skipped], 'reviewed'));
    expect(numbers(rater).whole).toMatchObject({ drawn: 2, skipped: 0 });
    expect(rater.editing.review.sampled.map(e => e.place)).toEqual([0, 1]);
  });

  test('taken back shows the same stretch again, and an earlier edit replays', () => {
    const rater = new Rater();
    rater.plan('rest');
    const first = rater.take();
    const before = numbers(rater).whole;
    const { entries } = rater.log;
    const last = entries[entries.length - 1]!;
    rater.write('accept', invert(last.change), { undoes: last.seq });
    expect(rater.next).toBe(first);
    expect(numbers(rater).whole.drawn).toBe(0);
    rater.take();
    expect(numbers(rater).whole).toEqual(before);
    // A mark of the stretch deleted afterwards: two intervals become one, and the mark is extra.
    const stretch = rater.laidOut.stretches[first]!;
    const mark = rater.editing.review.marks.find(m => m > stretch.start + 200)!;
    rater.write('delete', [{ op: 'marks', removed: [sampleIndex(mark)], added: [] }]);
    expect(numbers(rater).whole.quality.value!).toBeLessThan(before.quality.value!);
  });

  test('is planned once', () => {
    const rater = new Rater();
    rater.plan('rest');
    const { samplePlans } = rater.editing.review;
    for (const segment of [null, 'rest']) {
      expect(planReview(rater.editing, { ...samplePlans[0]!, segment, seed: 12 })).toEqual({
        refused: 'A sample of this was planned before: it goes on with the same order.',
      });
    }
    expect(planReview(rater.editing, { ...samplePlans[0]!, segment: 'walk' })).not.toHaveProperty('refused');
  });

  test('a plan for another recording gives no number', () => {
    const rater = new Rater();
    rater.plan('rest');
    const plan = rater.editing.review.samplePlans[0]!;
    const review = { ...rater.editing.review, samplePlans: [{ ...plan, bounds: plan.bounds.slice(1) }] };
    const score = scoreReview(rater.item, review, defaultMatchSettings);
    expect(sampledReviews(rater.item, review, score)).toEqual([]);
  });
});

describe('scores of a session', () => {
  test('carry the sampled numbers', () => {
    const rater = new Rater();
    rater.plan('walk');
    for (let i = 0; i < 10; i++) rater.take();
    const [score] = sessionScores({ session: rater.session, logs: [rater.log] });
    const { whole } = numbers(rater);
    expect(score!.report.segments[0]).not.toHaveProperty('sampled');
    expect(score!.report.segments[1]!['sampled']).toEqual({
      qualityPercent: whole.quality.value,
      interval95: whole.interval95,
      seed: 11,
      stretchSeconds: 10,
      stretches: 70,
      reviewed: 13,
      drawn: 10,
      known: 3,
      skipped: 0,
      exact: false,
      boundFactor: 1,
    });
    expect(score!.report.total).not.toHaveProperty('sampled');
  });

  test('say why there is no number yet', () => {
    const rater = new Rater();
    rater.plan('rest');
    const [score] = sessionScores({ session: rater.session, logs: [rater.log] });
    expect(score!.report.segments[0]!['sampled']).toMatchObject({
      qualityPercent: null,
      interval95: null,
      reason: 'no stretch reviewed yet',
    });
  });
});
