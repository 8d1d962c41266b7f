import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type RecordingReview, startReview } from '../../../../../src/core/marks/edit';
import { marksFrom } from '../../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import { intersect, totalLength } from '../../../../../src/core/marks/spans';
import type { SessionRecording } from '../../../../../src/core/review/session';
import { coveredPieces } from '../../../../../src/core/review/standing/coverage';
import { reviewedScore } from '../../../../../src/core/review/standing/reviewed-score';
import { scoreReview } from '../../../../../src/core/review/standing/score-review';
import {
  lookedAtNote,
  standingRow,
  standingWords,
  wholePercent,
} from '../../../../../src/core/review/standing/standing-words';
import { qualityOf, scoreRow } from '../../../../../src/core/score/measures';
import { scoreRecording } from '../../../../../src/core/score/score';
import { span } from '../../../../../src/core/units';
import { beats, item } from '../planted-reviews';
import { recordingWith } from '../sample-session';

/** source of all counts here: by hand from the definitions, "Only what was looked at counts". */

function scored(
  part: Partial<RecordingReview>,
  { on = item, finished = false }: { on?: SessionRecording; finished?: boolean } = {},
) {
  const review = { ...startReview(on.detected), ...part };
  const lookers = [{ rater: 'R1', recordings: new Map([[on.recording.id, review]]) }];
  return reviewedScore(scoreReview(on, review, defaultMatchSettings), on, { lookers, finished });
}

const looked = (...spans: [number, number][]) => {
  const list = spans.map(([a, b]) => span(a, b));
  return { seen: list, accepted: list };
};

describe('what was not looked at is in no number', () => {
  test('a segment nobody opened has no quality and no count of mistakes, but a reason', () => {
    const { segments, total } = scored({});
    expect(segments.map(s => standingWords(s.standing))).toEqual(['not reviewed yet', 'not reviewed yet']);
    for (const part of [...segments, total]) {
      expect(qualityOf(part).quality).toEqual({ value: null, reason: 'not reviewed yet' });
      expect({ ...scoreRow(part), ...standingRow(part.standing) }).toMatchObject({
        qualityPercent: null,
        reason: 'not reviewed yet',
        missed: null,
        beats: null,
        rightIntervals: null,
        status: 'not reviewed yet',
        lookedAtPercent: 0,
      });
    }
  });

  test('a part that was looked at has the number of that part alone', () => {
    // Beats at 0.5, 1.5 ... 9.5 s; the mark at 7.5 s is missing. Looked at up to 5 s: 5 beats, 4 intervals, all right.
    const on = { ...item, detected: marksFrom(beats.filter(b => b !== 750)) };
    const [rest] = scored({ marks: marksFrom(beats), ...looked([0, 500]) }, { on }).segments;
    expect(rest!.counts).toMatchObject({ beats: 5, judged: 4, right: 4, missed: 0 });
    expect(standingWords(rest!.standing)).toBe('so far, 50 % looked at');
    // All of it: 10 beats, 9 intervals, two of them spoilt.
    const [whole] = scored({ marks: marksFrom(beats), ...looked([0, 1000]) }, { on }).segments;
    expect(whole!.counts).toMatchObject({ beats: 10, judged: 9, right: 7, missed: 1 });
    expect(standingWords(whole!.standing)).toBe('final');
  });

  test('an interval whose mark was shown but not judged is left out, on either side of it', () => {
    const parts = { seen: [span(0, 1000)], accepted: [span(0, 300), span(400, 1000)] };
    const [rest] = scored(parts).segments;
    // The mark at 3.5 s is left: intervals 2.5-3.5 and 3.5-4.5 are in no piece.
    expect(rest!.counts).toMatchObject({ beats: 9, judged: 7, right: 7 });
    expect(standingWords(rest!.standing)).toBe('so far, 90 % looked at');
  });

  test('marks accepted where nothing was shown, and time shown without a mark judged, are not looked at', () => {
    expect(scored({ accepted: [span(0, 1000)] }).segments[0]!.standing.status).toBe('not reviewed yet');
    expect(scored({ seen: [span(0, 1000)] }).segments[0]!.standing.status).toBe('not reviewed yet');
  });

  test('lost time counts where it was looked at, a gap only beside what was', () => {
    const on = recordingWith({
      detected: beats,
      sampleCount: 2100,
      segments: [['rest', 0, 2100]],
      gaps: [[1410, 1440]],
    });
    const unreadable = [span(210, 240), span(1810, 1840)];
    const [early] = scored({ unreadable, ...looked([0, 1000]) }, { on }).segments;
    expect(early!.counts).toMatchObject({ judged: 8, lost: 1, lostNoSignal: 0 });
    const [both] = scored({ unreadable, ...looked([0, 1000], [1300, 1500]) }, { on }).segments;
    expect(both!.counts).toMatchObject({ judged: 8, lost: 2, lostNoSignal: 1 });
  });

  test('signed off with a reason is final, over all of the segment', () => {
    const signOffs = [{ segment: 'rest', at: '2026-02-14T09:00:00Z', reason: 'the rest is noise' }];
    const { segments, total } = scored({ ...looked([0, 500]), signOffs });
    expect(segments[0]!.counts).toMatchObject({ judged: 9, right: 9 });
    expect(segments.map(s => s.standing.status)).toEqual(['final', 'not reviewed yet']);
    expect(standingRow(segments[0]!.standing)).toEqual({ status: 'final', lookedAtPercent: 50 });
    expect(total.counts.judged).toBe(9);
  });

  test('a total never pools what is final with what is not', () => {
    const { total } = scored(looked([0, 1500]));
    expect(total.counts).toMatchObject({ judged: 9, right: 9 });
    expect(standingWords(total.standing)).toBe('so far, 1 of 2 segments final');
    expect(scored(looked([0, 500], [1000, 1500])).total.counts.judged).toBe(4 + 4);
    expect(scored(looked([0, 2100])).total.standing).toEqual({ status: 'final', lookedAtShare: 1 });
    expect(scored({}, { finished: true }).total.standing.status).toBe('final');
  });

  test('the logs a settled review rests on are not here: no number, and why', () => {
    const review = startReview(item.detected);
    const score = reviewedScore(scoreReview(item, review, defaultMatchSettings), item, {
      lookers: null,
      finished: false,
    });
    expect(qualityOf(score.total).quality).toEqual({ value: null, reason: 'the two logs it settles are not here' });
  });

  test('what is not settled is left out of a review that settles', () => {
    const review = { ...startReview(item.detected), ...looked([0, 2100]) };
    const recordings = new Map([[item.recording.id, review]]);
    const grounds = { lookers: [{ rater: 'R1', recordings }], finished: false, open: [span(300, 400)] };
    const { segments } = reviewedScore(scoreReview(item, review, defaultMatchSettings), item, grounds);
    expect(segments[0]!.counts).toMatchObject({ beats: 9, judged: 7 });
    expect(segments.map(s => standingWords(s.standing))).toEqual([
      'so far, without the differences that are not settled',
      'final',
    ]);
  });

  test('a hair looked at never reads as nothing', () => {
    expect([0, 0.004, 0.999, 1].map(wholePercent)).toEqual(['0 %', 'under 1 %', '99 %', '100 %']);
  });

  test('a whole percent is said as that, whatever the share is in binary', () => {
    for (let k = 0; k <= 100; k++) expect(wholePercent(k / 100)).toBe(`${k} %`);
    for (let n = 1; n < 400; n++) {
      for (let k = 0; k < n; k++) {
        const percent = Math.floor((100 * k) / n);
        expect(wholePercent(k / n)).toBe(percent === 0 && k > 0 ? 'under 1 %' : `${percent} %`);
      }
    }
  });
});

test('pieces add up to what a plain score of each piece as a segment of its own says', () => {
  // The plain way: score the recording once for every piece, as its only segment.
  fc.assert(
    fc.property(
      fc.subarray(beats),
      fc.array(fc.tuple(fc.integer({ min: 0, max: 2000 }), fc.integer({ min: 1, max: 700 })), { maxLength: 4 }),
      fc.integer({ min: 0, max: 2100 }),
      (detected, spans, acceptedTo) => {
        const on = { ...item, detected: marksFrom(detected) };
        const review = startReview(marksFrom(beats));
        const seen = spans.map(([a, n]) => span(a, Math.min(2100, a + n)));
        const joined =
          seen.length > 0 ? [span(Math.min(...seen.map(s => s.start)), Math.max(...seen.map(s => s.end)))] : [];
        // What was shown beyond is cut into pieces by its marks: most of these hold nothing.
        const part = { ...review, seen: joined, accepted: intersect(joined, [span(0, acceptedTo)]) };
        const [rest] = scored(part, { on }).segments;
        const pieces = coveredPieces(on, part, item.segments[0]!);
        const { input } = scoreReview(on, part, defaultMatchSettings);
        const plain = pieces.map(p => scoreRecording({ ...input, segments: [{ name: 'piece', ...p }] }).total.counts);
        if (rest!.withheld !== undefined) return;
        for (const key of ['beats', 'judged', 'right', 'missed', 'wrongPeak', 'extra', 'ownIntervals'] as const) {
          expect(rest!.counts[key]).toBe(plain.reduce((n, c) => n + c[key], 0));
        }
        expect(rest!.counts.seconds).toBeCloseTo(totalLength(pieces) / 100, 9);
      },
    ),
  );
});

test('a ledger says in few words how much was looked at of what is final', () => {
  const note = (lookedAtShare: number | null) => lookedAtNote({ status: 'final', lookedAtShare });
  expect([1, 0.375, 0, null].map(note)).toEqual([
    '100 % looked at',
    'final, 37 % looked at',
    'final, 0 % looked at',
    'final',
  ]);
  expect(lookedAtNote({ status: 'so far', lookedAtShare: 0.5 })).toBe('so far, 50 % looked at');
});
