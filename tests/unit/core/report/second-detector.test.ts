import { describe, expect, test } from 'vitest';
import { detectorName } from '../../../../src/core/detector/name';
import { startReview } from '../../../../src/core/marks/edit';
import { marksFrom } from '../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import { normalise } from '../../../../src/core/marks/spans';
import type { Recording } from '../../../../src/core/recording/recording';
import type { CountedReview } from '../../../../src/core/report/counted-review';
import {
  againstSecond,
  type SecondBeats,
  secondDetectorPass,
  secondDetectorRows,
  secondLeads,
  secondOfAll,
} from '../../../../src/core/report/second-detector';
import type { Session, SessionRecording } from '../../../../src/core/review/session';
import { segmentsUnderReview } from '../../../../src/core/review/standing/coverage';
import { reviewedScore } from '../../../../src/core/review/standing/reviewed-score';
import { scoreReview } from '../../../../src/core/review/standing/score-review';
import { layOut, planSample } from '../../../../src/core/sample/plan';
import { span } from '../../../../src/core/units';

// Worked out by hand: 11 beats, one a second at 100 Hz, of which the recorder and the rater have all unless said.

const beats = Array.from({ length: 11 }, (_, i) => 50 + 100 * i);
const without = (...places: number[]) => beats.filter(b => !places.includes(b));
const heard = (samples: readonly number[], unsure: SecondBeats['unsure'] = []): SecondBeats => {
  return { samples: marksFrom(samples), unsure };
};

function itemOf(detected: readonly number[], detectedBy = 'chest band'): SessionRecording {
  const lead = { name: 'II', samplingRateHz: 100, sampleCount: 1100, unitsPerMv: 200, offset: 0, format: 'int16' };
  const recording = {
    id: 'a',
    recorder: 'chest band',
    samplingRateHz: 100,
    sampleCount: 1100,
    gaps: [],
    leads: [lead],
  };
  return { recording: recording as unknown as Recording, detected: marksFrom(detected), detectedBy, segments: [] };
}

const compared = (detected: readonly number[], reviewed: readonly number[], second: SecondBeats) =>
  againstSecond(itemOf(detected), { marks: marksFrom(reviewed), unreadable: [] }, second, defaultMatchSettings);
const plain = (a: ArrayLike<number>) => Array.from(a);

describe('what a rater left as found against the second detector', () => {
  test('is nothing where it agrees, within the tolerance', () => {
    const found = compared(beats, beats, heard(beats.map(b => b + 5)));
    expect([found.asFound.length, found.changed.length, found.unheard.length]).toEqual([0, 0, 0]);
    expect(plain(found.otherWay)).toEqual(beats);
  });

  test('a mark kept where it has none goes, and one kept on another wave moves there', () => {
    const none = compared(beats, beats, heard(without(550)));
    expect([plain(none.asFound), plain(none.otherWay)]).toEqual([[550], without(550)]);
    const elsewhere = compared(beats, beats, heard([...without(550), 580]));
    expect([plain(elsewhere.asFound), plain(elsewhere.otherWay)]).toEqual([
      [550],
      [...without(550), 580].sort((a, b) => a - b),
    ]);
  });

  test('a beat that it alone has is added', () => {
    const found = compared(without(550), without(550), heard(beats));
    expect([plain(found.asFound), plain(found.otherWay)]).toEqual([[550], beats]);
  });

  test('what the rater changed stays, whether it agrees or not', () => {
    const agreed = compared(without(550), beats, heard(beats));
    expect([plain(agreed.changed), agreed.asFound.length, plain(agreed.otherWay)]).toEqual([[550], 0, beats]);
    const own = compared(beats, without(550), heard(beats));
    expect([own.changed.length, own.asFound.length, plain(own.otherWay)]).toEqual([0, 0, without(550)]);
    const extra = compared(
      [...beats, 590].sort((a, b) => a - b),
      beats,
      heard(beats),
    );
    expect(plain(extra.changed)).toEqual([590]);
    const moved = compared(
      [...without(550), 580].sort((a, b) => a - b),
      beats,
      heard(beats),
    );
    expect([plain(moved.changed), moved.asFound.length]).toEqual([[550], 0]);
  });

  test('where it could not see, and in unreadable spans, nothing is decided', () => {
    const found = compared(beats, beats, heard(without(550), [span(500, 600)]));
    expect([plain(found.unheard), found.asFound.length, plain(found.otherWay)]).toEqual([[550], 0, beats]);
    const review = { marks: marksFrom(beats), unreadable: [span(500, 600)] };
    const unreadable = againstSecond(itemOf(beats), review, heard(without(550)), defaultMatchSettings);
    expect([unreadable.asFound.length, unreadable.unheard.length]).toEqual([0, 0]);
  });
});

function rowsOf(item: SessionRecording, second: SecondBeats | string | null, over: Partial<CountedReview> = {}) {
  const review = { ...startReview(item.detected), marks: marksFrom(beats) };
  const recordings = new Map([[item.recording.id, review]]);
  const session = { id: 's', participant: 'V01', recordings: [item] } as unknown as Session;
  const grounds = { lookers: [{ rater: 'R1', recordings }], finished: true };
  const counted = { session, source: 'R1', recordings, groundsOf: () => grounds, ...over } as unknown as CountedReview;
  const given = second === null ? {} : { s: { a: second } };
  return secondDetectorRows(counted, given, defaultMatchSettings, i =>
    reviewedScore(scoreReview(i, review, defaultMatchSettings), i, counted.groundsOf('a')),
  );
}

describe('the table', () => {
  // One of ten intervals' beats decided the other way spoils nothing of the reference but two intervals: nine are judged
  // without the beat, eight of them right, as the recorder's mark is an extra one then.
  test('has the quality both ways, and the sums', () => {
    const rows = rowsOf(itemOf(beats), heard(without(550)));
    expect(rows).toMatchObject([
      {
        standing: 'final',
        beats: 11,
        asFound: 1,
        changed: 0,
        unheard: 0,
        quality: { value: 100, n: 10 },
        counts: { right: 10, whole: 10, otherRight: 8, otherWhole: 9 },
      },
    ]);
    const { sums } = secondDetectorPass([...rows, ...rows]);
    expect(sums).toMatchObject([{ segments: 2, asFound: 2, quality: { value: 100, n: 20 }, otherWay: { n: 18 } }]);
    expect(sums[0]!.otherWay.value).toBeCloseTo((100 * 16) / 18, 10);
  });

  test('says why there is no number: its own marks, no signal, no lead at the rate', () => {
    const reasons = (item: SessionRecording, second: SecondBeats | string | null) =>
      rowsOf(item, second).map(r => (r.otherWay.value === null ? r.otherWay.reason : ''));
    expect(reasons(itemOf(beats, detectorName), heard(beats))).toEqual([
      'the marks under test are of the same detector',
    ]);
    expect(reasons(itemOf(beats), null)).toEqual(['the signal is not at hand']);
    expect(reasons(itemOf(beats), 'no lead runs at the rate of the marks')).toHaveLength(1);
    const { recording } = itemOf(beats);
    expect(secondLeads(recording)).toEqual([0]);
    expect(secondLeads({ ...recording, samplingRateHz: 200 })).toContain('rate of the marks');
    const { sums } = secondDetectorPass(rowsOf(itemOf(beats), null));
    expect(sums[0]!.otherWay).toEqual({ value: null, reason: 'the signal is not at hand' });
  });

  test('goes over the recordings of every session, one after the other, and asks for no lead it cannot use', async () => {
    const { recording } = itemOf(beats);
    const other = { ...recording, id: 'b', samplingRateHz: 200 };
    const sessions = ['s1', 's2'].map(id => ({
      id,
      recordings: [itemOf(beats), { ...itemOf(beats), recording: other }],
    }));
    const asked: unknown[] = [];
    const done: number[] = [];
    const beatsOf = async (session: string, { id }: { id: string }, leads: readonly number[]) => {
      asked.push([session, id, leads]);
      return heard(beats);
    };
    const second = await secondOfAll(sessions, beatsOf, n => done.push(n));
    expect(asked).toEqual(['s1', 's2'].map(id => [id, recording.id, [0]]));
    expect(done).toEqual([1, 2]);
    expect(Object.keys(second)).toEqual(['s1', 's2']);
    expect(second['s2']).toMatchObject({ [recording.id]: heard(beats), b: 'no lead runs at the rate of the marks' });
  });

  test('leaves out what is not reviewed', () => {
    const item = itemOf(beats);
    const recordings = new Map([['a', startReview(item.detected)]]);
    const groundsOf = () => ({ lookers: [{ rater: 'R1', recordings }], finished: false });
    expect(rowsOf(item, heard(beats), { groundsOf } as unknown as Partial<CountedReview>)).toEqual([]);
  });
});

// A beat decided the other way counts where its stretch was reviewed, and nowhere else.
test('a sampled review is estimated again from the same stretches', () => {
  const many = Array.from({ length: 2000 }, (_, i) => 50 + 100 * i);
  const base = itemOf(many);
  const length = 200_000;
  const lead = { ...base.recording.leads[0]!, sampleCount: length };
  const item = { ...base, recording: { ...base.recording, sampleCount: length, leads: [lead] } };
  const segments = segmentsUnderReview(item);
  const plan = planSample({
    segment: null,
    seed: 3,
    stretchSeconds: 5,
    contextSeconds: 2,
    halfWidth: null,
    segments,
    samplingRateHz: 100,
    detected: item.detected,
    second: null,
    suspected: [],
  });
  const laidOut = layOut(plan, segments, 100);
  const drawn = [...laidOut.order].slice(0, 40).map(i => laidOut.stretches[i]!);
  const looked = drawn.map(s => span(s.start, s.end)).sort((a, b) => a.start - b.start);
  const review = {
    ...startReview(item.detected),
    seen: normalise(looked),
    accepted: normalise(looked),
    samplePlans: [plan],
    sampled: drawn.map((s, place) => ({
      start: s.start,
      end: s.end,
      outcome: 'reviewed' as const,
      drawn: true,
      place,
    })),
  };
  const rowFor = (disputed: number) => {
    const recordings = new Map([['a', review]]);
    const session = { id: 's', participant: 'V01', recordings: [item] };
    const grounds = { lookers: [{ rater: 'R1', recordings }], finished: true };
    const counted = { session, source: 'R1', recordings, groundsOf: () => grounds } as unknown as CountedReview;
    const second = { s: { a: heard(many.filter(b => b !== disputed)) } };
    const [row] = secondDetectorRows(counted, second, defaultMatchSettings, i =>
      reviewedScore(scoreReview(i, review, defaultMatchSettings), i, grounds),
    );
    return row!;
  };
  const outside = laidOut.stretches[laidOut.order[60]!]!.start + 250;
  const inside = rowFor(drawn[5]!.start + 250);
  expect(inside).toMatchObject({ standing: 'sampled', asFound: 1, counts: null, quality: { value: 100, n: 40 } });
  expect(inside.otherWay.value).toBeLessThan(100);
  expect(inside.otherWay.value).toBeGreaterThan(97);
  expect(rowFor(outside)).toMatchObject({ asFound: 0, otherWay: { value: 100, n: 40 } });
});
