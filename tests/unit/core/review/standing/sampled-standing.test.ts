import { csvParse } from 'd3-dsv';
import { describe, expect, test } from 'vitest';
import { append } from '../../../../../src/core/marks/log';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import { sessionScores } from '../../../../../src/core/report/session-scores';
import { acceptSpan, look, signOff } from '../../../../../src/core/review/edits';
import { pairAgreement, raterProgress } from '../../../../../src/core/review/raters/rater-progress';
import { reviewedScore } from '../../../../../src/core/review/standing/reviewed-score';
import { sampledReviews } from '../../../../../src/core/review/standing/sampled';
import { scoreReview } from '../../../../../src/core/review/standing/score-review';
import { standingWords } from '../../../../../src/core/review/standing/standing-words';
import { boardRows } from '../../../../../src/core/review/study/board';
import { measures } from '../../../../../src/core/score/measures';
import { span } from '../../../../../src/core/units';
import { resultsCsv, resultsSidecar } from '../../../../../src/formats/csv/results';
import { Rater } from './sampled-session';

// A number from a sample says so wherever it stands, and is never taken for one of a full review.

function scored(rater: Rater) {
  const { item, editing } = rater;
  const score = scoreReview(item, editing.review, defaultMatchSettings);
  const recordings = new Map([[item.recording.id, editing.review]]);
  const lookers = [{ rater: 'R1', recordings }];
  const [found] = sampledReviews(item, editing.review, score);
  return { reviewed: reviewedScore(score, item, { lookers, finished: editing.finished }), found };
}

function sampled(segment: string | null, stretches = 30): Rater {
  const rater = new Rater();
  rater.plan(segment);
  for (let n = 0; n < stretches; n++) rater.take();
  return rater;
}

test('the board of a study says how many stretches of a sample are reviewed, never what was found', () => {
  const rater = sampled(null, 12);
  const [row] = boardRows({ session: rater.session, logs: [rater.log] });
  expect(row).toMatchObject({ sampled: { reviewed: 12, stretches: 120 }, finishedBy: [] });
  const [plain] = boardRows({ session: rater.session, logs: [new Rater().log] });
  expect(plain!.sampled).toBeNull();
});

test('the board of a lab says so too, all recordings together', () => {
  const rater = sampled(null, 12);
  expect(raterProgress(rater.session, rater.log).sampled).toEqual({ reviewed: 12, stretches: 120 });
  const { qualityDifference } = pairAgreement(rater.session, rater.log, rater.log);
  expect(qualityDifference).toEqual({ value: null, reason: 'reviewed as a sample: see the comparison of the two' });
});

describe('a sampled segment', () => {
  test('has the quality and interval of the sample, and its words', () => {
    const { reviewed, found } = scored(sampled(null));
    for (const [i, part] of reviewed.segments.entries()) {
      const { number } = found!.segments[i]!;
      expect(part.standing).toMatchObject({ status: 'sampled', sampled: { reviewed: number.reviewed } });
      expect(standingWords(part.standing)).toBe(`sampled, ${number.reviewed} of ${number.stretches} stretches`);
      expect(measures(part)).toMatchObject({ quality: number.quality, qualityInterval95: number.interval95 });
    }
    expect(measures(reviewed.total).quality).toEqual(found!.whole.quality);
    expect(standingWords(reviewed.total.standing)).toBe(`sampled, ${found!.whole.reviewed} of 120 stretches`);
  });

  test('has nothing else that a part drawn by suspicion cannot tell', () => {
    const { reviewed } = scored(sampled(null));
    const { sensitivity, ppv, f1, readableQuality, meanErrorMs } = measures(reviewed.segments[0]!);
    for (const measure of [sensitivity, ppv, f1, readableQuality, meanErrorMs]) {
      expect(measure).toEqual({ value: null, reason: 'needs a full review, and this one is a sample' });
    }
  });

  // source: sampled-review page, "no draw: no estimate"
  test('of which nothing was drawn or looked at is not final by being signed off', () => {
    const rater = sampled('rest', 0);
    rater.write('sign off', signOff(rater.editing, 'rest', '2026-06-01T08:00:00.000Z', 'a sample was agreed on'));
    rater.write('sign off', signOff(rater.editing, 'walk', '2026-06-01T08:00:00.000Z', 'the strap was off'));
    rater.log = append(rater.log, { at: '2026-06-01T09:00:00.000Z', recording: '', intent: 'finish', change: [] }).log;
    const { segments, total } = scored(rater).reviewed;
    expect(segments.map(s => s.standing.status)).toEqual(['not reviewed yet', 'final']);
    expect(segments[0]!.withheld).toBe('not reviewed yet');
    expect(total.counts).toEqual(segments[1]!.counts);
  });

  test('stays sampled when it is signed off and the review finished, and is final once all of it was looked at', () => {
    const rater = sampled('rest');
    const [rest, walk] = rater.item.segments;
    rater.write('sign off', signOff(rater.editing, 'rest', '2026-06-01T08:00:00.000Z', 'a sample was agreed on'));
    rater.write('look', look(rater.editing, walk!));
    rater.write('accept', acceptSpan(rater.editing, span(walk!.start, walk!.start + 20_000)));
    const before = scored(rater).reviewed;
    expect(before.segments.map(s => s.standing.status)).toEqual(['sampled', 'so far']);
    // Only what is final is summed up; a sample of one segment is not.
    expect(before.total.standing.status).toBe('so far');
    expect(before.total.counts.judged).toBe(before.segments[1]!.counts.judged);
    rater.log = append(rater.log, { at: '2026-06-01T09:00:00.000Z', recording: '', intent: 'finish', change: [] }).log;
    expect(scored(rater).reviewed.segments.map(s => s.standing.status)).toEqual(['sampled', 'final']);

    const full = sampled('rest');
    full.write('look', look(full.editing, rest!));
    full.write('accept', acceptSpan(full.editing, rest!));
    expect(scored(full).reviewed.segments[0]!.standing.status).toBe('final');
  });

  test('is written as such into the table and beside it', () => {
    const rater = sampled(null);
    const reviewed = { session: rater.session, logs: [rater.log] };
    const shown = [{ reviewed, raters: ['R1'] }];
    const rows = csvParse(resultsCsv(shown));
    const { found } = scored(rater);
    const { whole } = found!;
    expect(rows.map(r => r['status'])).toEqual(['sampled', 'sampled', 'sampled']);
    expect(rows.at(-1)).toMatchObject({
      quality_percent: String(whole.quality.value),
      quality_low95_percent: String(whole.interval95![0]),
      quality_high95_percent: String(whole.interval95![1]),
      sampled_stretches: String(whole.reviewed),
      stretches: '120',
      sample_seed: '11',
      sensitivity: '',
    });
    expect(rows.at(-1)!['not_computable']).toContain('sensitivity: needs a full review');
    expect(JSON.stringify(resultsSidecar(shown, '2026-06-01'))).toContain('"seed":11');
    const [score] = sessionScores(reviewed);
    expect(score!.report.total).toMatchObject({ status: 'sampled', qualityPercent: whole.quality.value });
  });
});
