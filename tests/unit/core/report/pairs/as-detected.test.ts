import { beforeAll, describe, expect, test } from 'vitest';
import { repeatedConcordance } from '../../../../../src/core/agreement/repeated-concordance';
import { nnIntervals } from '../../../../../src/core/hrv/nn';
import { timeDomain } from '../../../../../src/core/hrv/time-domain';
import { noMarks } from '../../../../../src/core/marks/markset';
import { union } from '../../../../../src/core/marks/spans';
import { type CountedReview, countedReview, replaySession } from '../../../../../src/core/report/counted-review';
import {
  cellsAgainstReference,
  cellsOfPair,
  type DetectedCell,
} from '../../../../../src/core/report/pairs/as-detected';
import { detectedAgreement } from '../../../../../src/core/report/pairs/detected-agreement';
import { defaultBootstrapSettings } from '../../../../../src/core/score/bootstrap';
import { sampleStudy, truthOf } from '../sample-study';

let counted: CountedReview[];
beforeAll(async () => {
  counted = (await sampleStudy()).map(s => countedReview(replaySession(s), false)!);
});

const settings = { ...defaultBootstrapSettings, draws: 200 };
const bandOf = (c: CountedReview) => c.session.recordings[0]!;

describe('a recorder as detected, mistakes included', () => {
  // source: the definition, worked out here for one segment from the beats and marks themselves
  test('RMSSD of a segment is that of its marks and of its reviewed beats', () => {
    const c = counted[0]!;
    const item = bandOf(c);
    const segment = item.segments.at(-1)!;
    const cells = cellsAgainstReference(c, item);
    const cell = cells.find(x => x.activity === segment.name && x.measure === 'rmssd')!;
    const { gaps, samplingRateHz } = item.recording;
    const review = c.recordings.get(item.recording.id)!;
    const of = (beats: typeof review.marks, excluded: typeof gaps) =>
      timeDomain(nnIntervals({ beats, excluded, nonSinus: noMarks, samplingRateHz }, segment)).rmssdMs.value!;
    expect(cell.a[0]).toBeCloseTo(of(item.detected, gaps), 9);
    expect(cell.b[0]).toBeCloseTo(of(review.marks, union(review.unreadable, gaps)), 9);
    const ln = cells.find(x => x.activity === segment.name && x.measure === 'lnRmssd')!;
    expect(ln.a[0]).toBeCloseTo(Math.log(cell.a[0]!), 12);
  });

  test('there is a heart rate for each minute, and an RR for each reviewed interval', () => {
    const c = counted[0]!;
    const item = bandOf(c);
    const cells = cellsAgainstReference(c, item);
    const minutes = cells.filter(x => x.measure === 'heartRate');
    expect(minutes).toHaveLength(item.segments.length);
    for (const m of minutes) {
      expect(m.a).toHaveLength(5);
      for (const bpm of m.b) expect(bpm).toBeGreaterThan(40);
    }
    const rr = cells.filter(x => x.measure === 'rr');
    const apart = (x: DetectedCell) => x.a.filter((v, i) => Math.abs(v - x.b[i]!) > 250).length;
    // A planted missed beat makes one long interval over two reviewed ones.
    const missed = truthOf('V01').recordings.find(r => r.id === item.recording.id)!.planted;
    expect(rr.reduce((n, x) => n + apart(x), 0)).toBeGreaterThanOrEqual(missed.filter(p => p.kind === 'missed').length);
  });

  test('a recorder compared with itself agrees wholly', () => {
    const cells = counted.flatMap(c => cellsOfPair(c, bandOf(c), bandOf(c), { offsetSeconds: 0, driftPpm: 0 }));
    for (const row of detectedAgreement(cells, settings)) {
      expect(row.unpaired, row.measure).toBe(0);
      expect(row.blandAltman).toMatchObject({ value: 0, lower: 0, upper: 0 });
      if (row.measure === 'heartRate') expect(row.concordance.value).toBeCloseTo(1, 12);
    }
  });

  test('rows see the mistakes, say why a number is missing, and test only against a named margin', () => {
    const cells = counted.flatMap(c => cellsAgainstReference(c, bandOf(c)));
    const rows = detectedAgreement(cells, settings, { heartRate: 5 });
    const row = (measure: string) => rows.find(r => r.measure === measure && r.activity === null)!;
    expect(row('rmssd').bias.value).toBeGreaterThan(5);
    for (const r of rows) {
      if (r.blandAltman.value === null) continue;
      // The bootstrap is of the same bias and limits.
      expect(r.bias.value).toBeCloseTo(r.blandAltman.value, 9);
      expect(r.lower.value).toBeCloseTo(r.blandAltman.lower, 9);
      expect(r.upper.value).toBeCloseTo(r.blandAltman.upper, 9);
      if (r.regression.value !== null) expect(r.slope.value).toBeCloseTo(r.regression.slope, 7);
    }
    const rest = cells.filter(c => c.measure === 'heartRate' && c.activity === bandOf(counted[0]!).segments[0]!.name);
    const ofRest = rows.find(r => r.measure === 'heartRate' && r.activity === rest[0]!.activity)!;
    expect(ofRest.concordance.value).toBeCloseTo(repeatedConcordance(rest.map(c => ({ x: c.a, y: c.b }))).value!, 9);
    expect(row('rr').concordance).toEqual({ value: null, reason: 'intervals have no common occasions' });
    expect(row('lnRmssd').meanAbsolutePercentageError).toMatchObject({ value: null });
    expect(row('heartRate').equivalence).toMatchObject({ margin: 5, n: 8 });
    expect(row('rr').equivalence).toEqual({ value: null, reason: 'the study names no margin' });
  });

  test('without a volunteer there is no number', () => {
    expect(detectedAgreement([], settings).every(r => r.bias.value === null && r.pairs === 0)).toBe(true);
  });
});
