import { describe, expect, test } from 'vitest';
import { driftByWeek, isoWeek, type SignedReview } from '../../../../../src/core/review/raters/drift';
import type { PairAgreement } from '../../../../../src/core/review/raters/rater-progress';

const agreement = (f1: number, beats: number, kappa: number | null, difference: number): PairAgreement =>
  ({
    f1: { value: f1, n: beats },
    kappa: kappa === null ? { value: null, reason: 'all alike' } : { value: kappa, n: 20 },
    qualityDifference: { value: difference, n: 10 },
    disagreements: 1,
  }) as PairAgreement;

const review = (rater: string, signedOffAt: string, part: Partial<SignedReview> = {}): SignedReview => ({
  rater,
  signedOffAt,
  calibration: false,
  work: { minutes: 30, recordedSeconds: 3600 },
  agreement: null,
  ...part,
});

describe('drift of a rater over time', () => {
  // source: ISO 8601 week dates, counted on a calendar; 1 January 2027 is a Friday, 29 December 2025 a Monday
  test('weeks are those of ISO 8601, also around the new year', () => {
    expect(isoWeek('2026-01-01T00:00:00Z')).toBe('2026-W01');
    expect(isoWeek('2025-12-29T12:00:00Z')).toBe('2026-W01');
    expect(isoWeek('2025-12-28T23:59:59Z')).toBe('2025-W52');
    expect(isoWeek('2027-01-01T08:00:00Z')).toBe('2026-W53');
    expect(isoWeek('2026-02-14T09:00:00Z')).toBe('2026-W07');
  });

  // source: counted by hand
  test('sessions of one week are taken together, calibration sessions apart', () => {
    const weeks = driftByWeek([
      review('R2', '2026-02-10T09:00:00Z'),
      review('R1', '2026-02-10T09:00:00Z', { agreement: agreement(0.9, 100, 0.8, 2) }),
      review('R1', '2026-02-14T09:00:00Z', {
        agreement: agreement(1, 300, null, -1),
        work: { minutes: 90, recordedSeconds: 7200 },
      }),
      review('R1', '2026-02-14T10:00:00Z', { agreement: agreement(0.5, 10, 0.1, -20), calibration: true }),
      review('R1', '2026-02-16T09:00:00Z', { work: null }),
    ]);
    expect(weeks.map(w => [w.rater, w.week, w.calibration, w.sessions])).toEqual([
      ['R1', '2026-W07', false, 2],
      ['R1', '2026-W07', true, 1],
      ['R1', '2026-W08', false, 1],
      ['R2', '2026-W07', false, 1],
    ]);
    const [first, calibration, later] = weeks;
    expect(first!.qualityDifference).toEqual({ value: 0.5, n: 2 });
    // (0.9 x 100 + 1 x 300) / 400
    expect(first!.f1).toEqual({ value: expect.closeTo(0.975, 9), n: 400 });
    expect(first!.kappa).toEqual({ value: 0.8, n: 1 });
    // 120 min for 3 h.
    expect(first!.pace).toEqual({ value: expect.closeTo(40, 9), n: 2 });
    expect(calibration!.qualityDifference).toEqual({ value: -20, n: 1 });
    expect(later!.f1).toEqual({ value: null, reason: 'no other rater has signed off these sessions' });
    expect(later!.pace).toEqual({ value: null, reason: 'the sessions are not kept in this browser' });
  });

  test('where no kappa can be computed there is no mean of none', () => {
    const [week] = driftByWeek([review('R1', '2026-02-10T09:00:00Z', { agreement: agreement(1, 100, null, 0) })]);
    expect(week!.kappa).toEqual({ value: null, reason: 'all alike' });
    expect(driftByWeek([])).toEqual([]);
  });
});
