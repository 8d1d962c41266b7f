import { describe, expect, test } from 'vitest';
import { breaksOf, stretchesOf } from '../../../../src/core/hrv/breaks';
import { dfaAlpha1 } from '../../../../src/core/hrv/dfa';
import { nnInputs, nnIntervals, nnSeriesOf, readableSeconds, successiveDifferences } from '../../../../src/core/hrv/nn';
import { poincare } from '../../../../src/core/hrv/poincare';
import { lombSpectrum, welchSpectrum } from '../../../../src/core/hrv/spectrum';
import { hrvSummary } from '../../../../src/core/hrv/summary';
import { timeDomain } from '../../../../src/core/hrv/time-domain';
import { alternatingAnswers, alternatingIntervals } from '../../../../src/core/known-answers/statistics';
import { marksFrom, noMarks } from '../../../../src/core/marks/markset';
import { randomFromNumber } from '../../../../src/core/random';
import { type Span, span } from '../../../../src/core/units';

const alternating = (n: number) => nnSeriesOf(alternatingIntervals(n));

describe('time domain in closed form', () => {
  // source: definitions of the Task Force, Circulation 1996;93:1043
  test('alternating 800 and 900 ms', () => {
    const t = timeDomain(alternating(100));
    expect(t.meanNnMs).toEqual({ value: alternatingAnswers.meanNnMs, n: 100 });
    expect(t.rmssdMs).toEqual({ value: alternatingAnswers.rmssdMs, n: 99 });
    expect(t.nn50).toEqual({ value: 99, n: 99 });
    expect(t.pnn50Percent).toEqual({ value: alternatingAnswers.pnn50Percent, n: 99 });
    expect(t.sdnnMs.value).toBeCloseTo(50 * Math.sqrt(100 / 99), 12);
    // source: common practice, bpm = 60000 / RR ms
    expect(t.meanHeartRateBpm.value).toBeCloseTo(60000 / 850, 12);
    expect(t.minHeartRateBpm.value).toBeCloseTo(60000 / 900, 12);
    expect(t.maxHeartRateBpm.value).toBe(75);
  });

  test('constant RR has no spread, and no spectrum shares or exponent', () => {
    const series = nnSeriesOf(Array.from({ length: 400 }, () => 800));
    const t = timeDomain(series);
    expect(t.sdnnMs.value).toBe(0);
    expect(t.rmssdMs.value).toBe(0);
    expect(poincare(series)).toEqual({ sd1Ms: { value: 0, n: 399 }, sd2Ms: { value: 0, n: 399 } });
    expect(welchSpectrum(series).bands.lfNu).toMatchObject({ value: null });
    expect(lombSpectrum(series).bands.lfHf).toMatchObject({ value: null });
    expect(dfaAlpha1(series)).toMatchObject({ value: null, reason: 'the intervals do not vary' });
  });

  // source: Brennan et al. 2001: SD1^2 = SDSD^2 / 2, and 2 SDNN^2 - SDSD^2 / 2 for SD2^2 but for the ends
  test('Poincare and standard deviations', () => {
    const random = randomFromNumber(3);
    const series = nnSeriesOf(Array.from({ length: 5000 }, () => 800 + 30 * random.normal()));
    const t = timeDomain(series);
    const p = poincare(series);
    expect(p.sd1Ms.value).toBeCloseTo(t.sdsdMs.value! / Math.SQRT2, 9);
    expect(p.sd2Ms.value).toBeCloseTo(Math.sqrt(2 * t.sdnnMs.value! ** 2 - t.sdsdMs.value! ** 2 / 2), 1);
  });

  // source: definition; at 360 Hz 18 samples are 50 ms, and 294 and 312 samples in ms differ by a little more
  test('NN50 counts what is more than 50 ms in samples', () => {
    const at = (step: number) => Array.from({ length: 41 }, (_, i) => 294 + (i % 2) * step);
    const nn50 = (step: number) => {
      let beat = 0;
      const beats = [0, ...at(step).map(rr => (beat += rr))];
      const source = { beats: marksFrom(beats), excluded: [], nonSinus: noMarks, samplingRateHz: 360 };
      return timeDomain(nnIntervals(source, span(0, 20_000))).nn50.value;
    };
    expect([nn50(18), nn50(19)]).toEqual([0, 40]);
  });

  // source: definition; blocks of 300 s with means 1000, 750 and 600 ms
  test('SDANN', () => {
    const block = (rr: number) => Array.from({ length: 300_000 / rr }, () => rr);
    const t = timeDomain(nnSeriesOf([...block(1000), ...block(750), ...block(600)]));
    expect(t.sdannMs.value).toBeCloseTo(Math.sqrt((216.6667 ** 2 + 33.3333 ** 2 + 183.3333 ** 2) / 2), 0);
  });

  test('says why it cannot be computed', () => {
    const none = timeDomain(nnSeriesOf([]));
    for (const result of Object.values(none)) expect(result.value).toBeNull();
    const few = timeDomain(alternating(9));
    expect(few.meanNnMs).toEqual({ value: null, reason: 'needs 10 NN intervals, has 9' });
    expect(timeDomain(alternating(10)).meanNnMs).toMatchObject({ n: 10 });
    const short = timeDomain(alternating(30));
    expect(short.sdnnMs).toMatchObject({ n: 30 });
    expect(short.rmssdMs).toEqual({
      value: null,
      reason: 'needs 30 differences of intervals that share a beat, has 29',
    });
    expect(timeDomain(alternating(31)).rmssdMs).toMatchObject({ n: 30 });
    expect(poincare(alternating(30)).sd1Ms.value).toBeNull();
    expect(poincare(alternating(31)).sd1Ms).toMatchObject({ n: 30 });
    expect(timeDomain(alternating(300)).triangularIndex).toMatchObject({ reason: expect.stringContaining('20 min') });
    expect(timeDomain(alternating(300)).sdannMs.value).toBeNull();
  });
});

describe('scaling exponent', () => {
  // source: Peng et al., Chaos 1995;5:82: uncorrelated intervals 0.5, their running sum 1.5 (short boxes bend it a little)
  test('white and brown intervals', () => {
    const random = randomFromNumber(9);
    const white = Array.from({ length: 20_000 }, () => 20 * random.normal());
    let sum = 0;
    const brown = white.map(v => (sum += v / 20));
    expect(dfaAlpha1(nnSeriesOf(white.map(v => 800 + v))).value).toBeCloseTo(0.55, 1);
    expect(dfaAlpha1(nnSeriesOf(brown.map(v => 800 + v))).value).toBeCloseTo(1.5, 1);
  });

  test('needs 128 intervals', () => {
    expect(dfaAlpha1(alternating(127))).toMatchObject({ value: null, reason: expect.stringContaining('127') });
    expect(dfaAlpha1(alternating(128)).value).not.toBeNull();
  });
});

describe('NN intervals of a segment', () => {
  const beats = marksFrom([500, 1500, 2400, 3400, 4500, 5500, 6500]);
  const source = { beats, excluded: [], nonSinus: noMarks, samplingRateHz: 1000 };

  test('both beats inside the segment', () => {
    const series = nnIntervals(source, span(1500, 5500));
    expect([...series.intervalsMs]).toEqual([900, 1000, 1100]);
    expect([...series.timesSeconds]).toEqual([2.4, 3.4, 4.5]);
    expect([...series.adjacent]).toEqual([0, 1, 1]);
    expect(readableSeconds(series)).toBeCloseTo(3, 12);
  });

  test('an unreadable span hides beats and breaks adjacency', () => {
    const series = nnIntervals({ ...source, excluded: [span(2300, 2500)] }, span(0, 7000));
    expect([...series.intervalsMs]).toEqual([1000, 1100, 1000, 1000]);
    expect([...series.adjacent]).toEqual([0, 0, 1, 1]);
    expect(series.leftOutUnreadable).toBe(1);
    expect([...successiveDifferences(series)]).toEqual([-100, 0]);
  });

  test('a span between two beats leaves out that interval', () => {
    const series = nnIntervals({ ...source, excluded: [span(1600, 1700)] }, span(0, 7000));
    expect([...series.intervalsMs]).toEqual([1000, 1000, 1100, 1000, 1000]);
    expect(series.leftOutUnreadable).toBe(1);
  });

  test('three inputs: as detected, reviewed, reviewed without non-sinus beats', () => {
    const inputs = nnInputs(
      {
        detected: marksFrom([500, 1500, 3400, 4500, 5500, 6500]),
        reviewed: beats,
        nonSinus: marksFrom([4500]),
        unreadable: [span(600, 700)],
        gaps: [],
        samplingRateHz: 1000,
      },
      { name: 'all', ...span(0, 7000) },
    );
    expect([...inputs.detected.intervalsMs]).toEqual([1000, 1900, 1100, 1000, 1000]);
    expect([...inputs.reviewed.intervalsMs]).toEqual([900, 1000, 1100, 1000, 1000]);
    expect([...inputs.reviewedSinus.intervalsMs]).toEqual([900, 1000, 1000]);
    expect(inputs.reviewedSinus).toMatchObject({ leftOutUnreadable: 1, leftOutNonSinus: 2 });
    expect([...inputs.reviewedSinus.adjacent]).toEqual([0, 1, 0]);
  });

  test('no beats, no intervals', () => {
    expect(nnIntervals({ ...source, beats: noMarks }, span(0, 7000)).intervalsMs.length).toBe(0);
  });
});

describe('spectra the data cannot support', () => {
  const rest = (seconds: number) => {
    const random = randomFromNumber(1);
    const intervals: number[] = [];
    for (let t = 0; t < seconds; t += 0.8) intervals.push(800 + 20 * random.normal());
    return nnSeriesOf(intervals);
  };

  // source: Task Force 1996, short-term recordings: about 1 min for HF, about 2 min for LF
  test('LF needs two minutes, HF one', () => {
    for (const compute of [welchSpectrum, lombSpectrum]) {
      expect(compute(rest(50)).bands.hfMs2).toMatchObject({ value: null, reason: expect.stringContaining('60 s') });
      expect(compute(rest(50)).bands.lfMs2).toMatchObject({ value: null, reason: expect.stringContaining('LF needs') });
      const short = compute(rest(100)).bands;
      expect(short.hfMs2.value).toBeGreaterThan(0);
      expect(short.lfMs2).toMatchObject({ value: null, reason: expect.stringContaining('LF needs 120 s') });
      expect(short.lfHf.value).toBeNull();
      const longer = compute(rest(130)).bands;
      expect(longer.lfMs2.value).toBeGreaterThan(0);
      expect(longer.vlfMs2.value).toBeNull();
    }
  });

  test('short breaks are bridged, longer ones part the series', () => {
    const beats = marksFrom(Array.from({ length: 400 }, (_, i) => 800 * i + (i % 3) * 20));
    const source = { beats, nonSinus: noMarks, samplingRateHz: 1000 };
    const without = (start: number, end: number) =>
      nnIntervals({ ...source, excluded: [span(start, end)] }, span(0, 320_000));
    const short = welchSpectrum(without(50_100, 50_900));
    expect(short.bridgedBreaks).toBe(1);
    expect(short.bridgedSeconds).toBeGreaterThan(1.5);
    expect(short.bridgedSeconds).toBeLessThan(1.7);
    // Three beats, though less than 3 s
    expect(welchSpectrum(without(50_100, 51_700)).bridgedBreaks).toBe(0);
    expect(stretchesOf(without(50_000, 60_000)).map(s => s.intervalsMs.length)).toEqual([62, 324]);
    expect(breaksOf(without(50_000, 60_000))).toMatchObject({ bridged: 0, wide: 1 });
    const many = without(50_000, 150_000);
    expect(lombSpectrum(many).bands.lfMs2).toMatchObject({ value: null, reason: expect.stringContaining('missing') });
    expect(welchSpectrum(many).bands.lfMs2.value).not.toBeNull();
    const everywhere = nnIntervals(
      { ...source, excluded: [50, 100, 150, 200, 250, 290].map(s => span(1000 * s, 1000 * s + 4000)) },
      span(0, 320_000),
    );
    expect(welchSpectrum(everywhere).bands.hfMs2).toMatchObject({
      value: null,
      reason: expect.stringContaining('60 s'),
    });
    expect(lombSpectrum(everywhere).bands.hfMs2.value).not.toBeNull();
  });

  // source: definition; a slow wave and noise, the same with 30 s cut out of the middle
  test('a gap of half a minute makes no slow power', () => {
    const random = randomFromNumber(5);
    const beats = [0];
    while (beats.at(-1)! < 300_000) beats.push(Math.round(beats.at(-1)! + 800 + 5 * random.normal()));
    const source = { beats: marksFrom(beats), nonSinus: noMarks, samplingRateHz: 1000 };
    for (const compute of [welchSpectrum, lombSpectrum]) {
      const vlf = (excluded: readonly Span[]) =>
        compute(nnIntervals({ ...source, excluded }, span(0, 301_000))).bands.vlfMs2.value!;
      expect(vlf([span(130_000, 160_000)])).toBeLessThan(3 * vlf([]) + 1);
    }
  });

  // source: definition; power sums to the variance. Every tenth beat missed doubles its interval.
  test('missed beats make no power beyond the variance', () => {
    const beats = Array.from({ length: 400 }, (_, i) => 800 * i + (i % 2) * 10).filter((_, i) => i % 10 !== 7);
    const series = nnIntervals(
      { beats: marksFrom(beats), excluded: [], nonSinus: noMarks, samplingRateHz: 1000 },
      span(0, 321_000),
    );
    const { vlfMs2, lfMs2, hfMs2 } = welchSpectrum(series).bands;
    const total = vlfMs2.value! + lfMs2.value! + hfMs2.value!;
    expect(total).toBeLessThan(1.2 * timeDomain(series).sdnnMs.value! ** 2);
  });
});

test('the summary of an empty segment has a reason in every place', () => {
  const summary = hrvSummary(nnSeriesOf([]));
  expect(summary).toMatchObject({ intervals: 0, readableSeconds: 0, outliers: [], dfaAlpha1: { value: null } });
  const results = [...Object.values(summary.timeDomain), ...Object.values(summary.poincare)];
  results.push(...Object.values(summary.welch.bands), ...Object.values(summary.lomb.bands));
  expect(results.length).toBe(25);
  for (const result of results) expect(result).toMatchObject({ value: null, reason: expect.any(String) });
});
