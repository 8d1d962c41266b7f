import { describe, expect, test } from 'vitest';
import { linConcordance } from '../../../../src/core/agreement/concordance';
import { meanAbsoluteError, meanAbsolutePercentageError } from '../../../../src/core/agreement/error';
import { intraclassCorrelations } from '../../../../src/core/agreement/icc';
import { randomFromNumber } from '../../../../src/core/random';
import type { AgreementCell } from '../../../../src/core/report/pairs/recorder-agreement';
import { defaultPlanningSettings, planDifference, planVolunteers } from '../../../../src/core/report/plans/planning';
import type { QualityCounts, StudyCell } from '../../../../src/core/report/quality-table';
import { defaultStudySettings, studyNumbers } from '../../../../src/core/report/study-numbers';
import { effectiveSizeRatio } from '../../../../src/core/score/effective-size';

const counts = (missed: number, wrongPeak: number, extra: number, lost: number, all = 300): QualityCounts => ({
  judged: all - lost,
  right: all - lost - missed - wrongPeak - extra,
  lost,
  lostUnreadable: lost,
  lostNoSignal: 0,
  wrongByMissed: missed,
  wrongByWrongPeak: wrongPeak,
  wrongByExtra: extra,
});

const cell = (volunteer: string, recorder: string, activity: string, c: QualityCounts): StudyCell => ({
  volunteer,
  recorder,
  activity,
  counts: c,
});

const cells: StudyCell[] = [
  cell('V01', 'chest band', 'radio watch', counts(1, 0, 0, 0)),
  cell('V02', 'chest band', 'radio watch', counts(0, 2, 0, 3)),
  cell('V03', 'chest band', 'radio watch', counts(0, 0, 0, 0)),
  cell('V01', 'chest band', 'sled haul', counts(10, 5, 5, 10)),
  cell('V02', 'chest band', 'sled haul', counts(20, 5, 5, 0)),
  cell('V01', 'adhesive logger', 'radio watch', counts(4, 0, 0, 0)),
  cell('V03', 'adhesive logger', 'radio watch', counts(2, 0, 0, 0)),
  cell('V02', 'adhesive logger', 'radio watch', { ...counts(0, 0, 0, 0, 0), lost: null }),
];

// source: definitions of the quality and of pooling, counted by hand
describe('quality table', () => {
  const { quality, differences } = studyNumbers({ cells, agreement: [] });
  const row = (recorder: string, activity: string | null) =>
    quality.find(r => r.recorder === recorder && r.activity === activity)!;

  test('rows: recorders x (activities and all)', () => {
    expect(quality.map(r => [r.recorder, r.activity])).toEqual([
      ['chest band', 'radio watch'],
      ['chest band', 'sled haul'],
      ['chest band', null],
      ['adhesive logger', 'radio watch'],
      ['adhesive logger', 'sled haul'],
      ['adhesive logger', null],
    ]);
  });

  test('pooled, mean, SD and counts', () => {
    const watch = row('chest band', 'radio watch');
    expect(watch.pooled).toEqual({ value: (100 * 894) / 900, n: 900 });
    expect(watch).toMatchObject({ right: 894, judged: 897, lost: 3, volunteers: 3 });
    const own = [299, 295, 300].map(r => r / 3);
    expect(watch.mean.value).toBeCloseTo((own[0]! + own[1]! + own[2]!) / 3, 12);
    expect(watch.sd.value).toBeCloseTo(Math.sqrt(((1 / 3) ** 2 + 1 + (2 / 3) ** 2) / 2), 12);
    expect(watch.perVolunteer[1]).toEqual({ volunteer: 'V02', quality: { value: 100 * (295 / 300), n: 300 } });
    expect(watch.pooledBootstrap).toMatchObject({ value: watch.pooled.value, n: 3, draws: 2000, seed: 1 });
    const ratio = effectiveSizeRatio([299, 295, 300], [300, 300, 300]);
    if (ratio.value === null || watch.pooledClustered.value === null) throw new Error('no value');
    expect(watch.pooledClustered.interval![0]).toBeCloseTo(100 * ratio.interval![0], 10);
  });

  test('shares of the mistakes add up to all that is not right', () => {
    const all = row('chest band', null);
    expect(all.mistakes.map(m => m.intervals)).toEqual([31, 12, 10, 13, 0]);
    expect(all.judged + all.lost - all.right).toBe(66);
    expect(all.mistakes[0]!.ofMistakes).toEqual({ value: (100 * 31) / 66, n: 66 });
    expect(all.mistakes[3]!.ofAll).toEqual({ value: (100 * 13) / 1500, n: 1500 });
    const perfect = studyNumbers({ cells: [cell('V01', 'a', 'b', counts(0, 0, 0, 0))], agreement: [] }).quality[0]!;
    expect(perfect.mistakes[0]!.ofMistakes).toMatchObject({ value: null });
    expect(perfect.pooledBootstrap).toMatchObject({ value: 100, bca: null, intervalReason: 'needs two participants' });
  });

  test('what cannot be computed has a reason', () => {
    const logger = row('adhesive logger', 'radio watch');
    expect(logger.volunteers).toBe(2);
    expect(logger.perVolunteer[1]).toEqual({
      volunteer: 'V02',
      quality: { value: null, reason: 'no readable beat' },
    });
    const none = row('adhesive logger', 'sled haul');
    for (const result of [none.pooled, none.pooledClustered, none.pooledBootstrap, none.mean, none.sd]) {
      expect(result).toMatchObject({ value: null, reason: expect.any(String) });
    }
  });

  test('paired differences on the volunteers with both recorders', () => {
    const watch = differences.find(d => d.activity === 'radio watch')!;
    expect(watch).toMatchObject({ first: 'chest band', second: 'adhesive logger', volunteers: 2 });
    expect(watch.mean.value).toBeCloseTo((3 / 3 + 2 / 3) / 2, 12);
    expect(watch.sd.value).toBeCloseTo(1 / 3 / Math.SQRT2, 12);
    expect(watch.pooledBootstrap.value).toBeCloseTo((100 * (599 - 594)) / 600, 12);
    expect(differences.find(d => d.activity === 'sled haul')).toMatchObject({ volunteers: 0, mean: { value: null } });
  });

  // source: by hand; V01 and V02 have the sled haul with the band alone, so over all activities only the radio watch pairs:
  // 599 of 600 and 594 of 600 (V01 299 and 296, V03 300 and 298 of 300 each)
  test('a difference over all activities compares recorders in the activities that both have', () => {
    const all = differences.find(d => d.activity === null)!;
    const watch = differences.find(d => d.activity === 'radio watch')!;
    expect(all.pooledBootstrap.value).toBeCloseTo((100 * (599 - 594)) / 600, 12);
    expect(all).toEqual({ ...watch, activity: null });
  });

  test('so does the plan for a difference', () => {
    const hard = ['V01', 'V02', 'V04'].map(v => cell(v, 'chest band', 'sled haul', counts(40, 0, 0, 20)));
    const pairs = [4, 9, 15].flatMap((missed, i) => [
      cell(`V0${i + 1}`, 'chest band', 'radio watch', counts(missed, 0, 0, 0)),
      cell(`V0${i + 1}`, 'adhesive logger', 'radio watch', counts(2 * missed, 0, 0, 0)),
    ]);
    const plan = (all: StudyCell[]) => studyNumbers({ cells: all, agreement: [] }).planning.at(-1);
    expect(plan([...pairs, ...hard])).toEqual(plan(pairs));
    expect(plan(pairs)!.plan.volunteers.value).not.toBeNull();
  });

  test('the same input and settings give the same numbers', () => {
    expect(studyNumbers({ cells, agreement: [] })).toEqual(studyNumbers({ cells, agreement: [] }));
  });
});

describe('agreement of two recorders', () => {
  const random = randomFromNumber(4);
  const agreement: AgreementCell[] = ['V01', 'V02', 'V03', 'V04', 'V05'].flatMap(volunteer =>
    ['radio watch', 'sled haul'].map(activity => {
      const level = 70 + 10 * random.normal();
      const b = Float64Array.from({ length: 30 }, () => level + 5 * random.normal());
      return { volunteer, activity, measure: 'heartRate' as const, b, a: b.map(v => v + 1 + random.normal()) };
    }),
  );
  const rows = studyNumbers({ cells, agreement }).agreement;
  const overall = rows.find(r => r.measure === 'heartRate' && r.activity === null)!;
  const a = agreement.flatMap(c => [...c.a]);
  const b = agreement.flatMap(c => [...c.b]);

  // source: the statistics themselves, each tested against its own source; here computed on the joined pairs
  test('point values by sums equal those of the pairs', () => {
    expect(overall).toMatchObject({ pairs: 300, volunteers: 5 });
    expect(overall.concordance.value).toBeCloseTo(linConcordance(a, b).value!, 10);
    const icc = intraclassCorrelations(a.map((x, i) => [x, b[i]!]));
    expect(overall.icc21.value).toBeCloseTo(icc['2,1'].value!, 10);
    expect(overall.icc31.value).toBeCloseTo(icc['3,1'].value!, 10);
    expect(overall.meanAbsoluteError.value).toBeCloseTo(meanAbsoluteError(a, b).value!, 10);
    expect(overall.meanAbsolutePercentageError.value).toBeCloseTo(meanAbsolutePercentageError(a, b).value!, 10);
    expect(overall.blandAltman.value).toBeCloseTo(a.reduce((s, x, i) => s + x - b[i]!, 0) / 300, 10);
  });

  test('a row for each measure and activity, with reasons where there is no pair', () => {
    expect(rows.length).toBe(9);
    const rr = rows.find(r => r.measure === 'rr' && r.activity === null)!;
    expect(rr).toMatchObject({ pairs: 0, blandAltman: { value: null }, concordance: { value: null } });
    expect(rr.meanAbsoluteError).toMatchObject({ value: null, reason: 'no participant' });
  });
});

describe('planning aid', () => {
  const right = [285, 270, 296, 240, 281, 262, 290, 251];
  const whole = right.map(() => 300);

  // source: definition; the width of an interval falls with the square root of the number of volunteers
  test('four times the volunteers halve the width', () => {
    const { curve } = planVolunteers({ right, whole });
    const width = (n: number) => curve.find(p => p.volunteers === n)!.medianWidthPercent!;
    expect(width(200) / width(50)).toBeGreaterThan(0.45);
    expect(width(200) / width(50)).toBeLessThan(0.55);
  });

  test('the answer is enough, and one grid step less is not', () => {
    const { volunteers, curve } = planVolunteers({ right, whole }, { ...defaultPlanningSettings, widthPercent: 8 });
    const needed = volunteers.value!;
    for (const point of curve) {
      if (point.volunteers >= needed) expect(point.shareWithin).toBeGreaterThanOrEqual(0.8);
      else expect(point.shareWithin).toBeLessThan(0.8);
    }
    const narrower = planVolunteers({ right, whole }, { ...defaultPlanningSettings, widthPercent: 4 });
    expect(narrower.volunteers.value! / needed).toBeGreaterThan(2.5);
  });

  test('the spread of a pilot is taken at its upper limit', () => {
    const settings = { ...defaultPlanningSettings, widthPercent: 8 };
    const plain = planVolunteers({ right, whole }, { ...settings, spreadConfidence: null });
    expect(planVolunteers({ right, whole }, settings).volunteers.value!).toBeGreaterThan(plain.volunteers.value!);
  });

  test('the smallest number tried is said to be that', () => {
    const wide = planVolunteers({ right, whole }, { ...defaultPlanningSettings, widthPercent: 80 });
    expect(wide).toMatchObject({ volunteers: { value: 4 }, orFewer: true });
    expect(planVolunteers({ right, whole }, { ...defaultPlanningSettings, widthPercent: 8 }).orFewer).toBe(false);
  });

  // source: definition; of recorders that make the same mistakes there is no difference to plan for, and the width of a
  // difference of independent ones is the root of the sum of squares
  test('a paired difference is planned from the differences', () => {
    const a = { right, whole };
    expect(planDifference(a, a).volunteers).toMatchObject({ value: null });
    const b = { right: [...right].reverse(), whole };
    const settings = { ...defaultPlanningSettings, widthPercent: 8 };
    expect(planDifference(a, b, settings).volunteers.value!).toBeGreaterThan(
      planVolunteers(a, settings).volunteers.value!,
    );
    const closer = { right: right.map((r, i) => r - (i % 2)), whole };
    expect(planDifference(a, closer, settings)).toMatchObject({ volunteers: { value: 4 }, orFewer: true });
  });

  // source: 1 - 0.9^16 = 0.815, the first to exceed 0.8 (definition: probability that one of a tenth is among 16)
  test('few volunteers with hardly any mistake bear no plan, more do', () => {
    const good = (n: number) => ({
      right: Array.from({ length: n }, (_, i) => 400 - (i % 3)),
      whole: Array.from({ length: n }, () => 400),
    });
    const { volunteers, curve } = planVolunteers(good(8));
    expect(volunteers).toMatchObject({ value: null, reason: expect.stringMatching(/8 volunteers.*16 volunteers/) });
    expect(curve).toEqual([]);
    expect(planVolunteers(good(15)).volunteers.value).toBeNull();
    expect(planVolunteers(good(16)).volunteers.value).toBeGreaterThanOrEqual(4);
    const a = { right, whole };
    const b = { right: right.map((_, i) => 300 - (i % 2)), whole };
    expect(planDifference(a, b).volunteers).toMatchObject({ value: null, reason: expect.stringMatching(/16/) });
    // One volunteer of a worse kind is seen: the pilot bears a plan.
    const seen = { right: [400, 399, 400, 360, 398, 400, 399, 400], whole: good(8).whole };
    expect(planVolunteers(seen, { ...defaultPlanningSettings, widthPercent: 40 }).volunteers.value).toBeGreaterThan(8);
  });

  test('says why there is no answer', () => {
    expect(planVolunteers({ right: [1, 2], whole: [3, 3] }).volunteers).toMatchObject({
      reason: 'needs three volunteers at hand',
    });
    expect(planVolunteers({ right: [3, 3, 3], whole: [3, 3, 3] }).volunteers).toMatchObject({ value: null });
    const settings = { ...defaultPlanningSettings, widthPercent: 0.01 };
    expect(planVolunteers({ right, whole }, settings).volunteers).toMatchObject({ reason: 'more than 500 volunteers' });
    expect(studyNumbers({ cells: [], agreement: [] }, defaultStudySettings).planning).toEqual([]);
  });
});
