import { describe, expect, test } from 'vitest';
import { dfaAlpha1 } from '../../../../src/core/hrv/dfa';
import { lombScargle } from '../../../../src/core/hrv/lomb-scargle';
import { nnSeriesOf } from '../../../../src/core/hrv/nn';
import { poincare } from '../../../../src/core/hrv/poincare';
import { lombSpectrum, type SpectrumResult, welchSpectrum } from '../../../../src/core/hrv/spectrum';
import { tachogram } from '../../../../src/core/hrv/tachogram';
import { timeDomain } from '../../../../src/core/hrv/time-domain';
import { welch } from '../../../../src/core/hrv/welch';
import reference from '../../../reference/hrv/hrv.json';

/** Largest relative difference of two lists. */
function worst(got: ArrayLike<number>, expected: readonly number[]): number {
  return Math.max(...expected.map((e, i) => Math.abs(got[i]! - e) / Math.abs(e)));
}

function expectBands({ bands }: SpectrumResult, expected: { vlf: number; lf: number; hf: number }) {
  expect(bands.vlfMs2.value! / expected.vlf).toBeCloseTo(1, 9);
  expect(bands.lfMs2.value! / expected.lf).toBeCloseTo(1, 9);
  expect(bands.hfMs2.value! / expected.hf).toBeCloseTo(1, 9);
  expect(bands.lfHf.value! / (expected.lf / expected.hf)).toBeCloseTo(1, 9);
  expect(bands.lfNu.value! + bands.hfNu.value!).toBeCloseTo(100, 9);
}

// source: SciPy 1.10 and NumPy on the same seeded tachogram (tests/reference/hrv)
describe('HRV against SciPy', () => {
  const five = reference.fiveMinutes;
  const series = nnSeriesOf(five.intervalsMs);

  test.each([five, reference.twentyFiveMinutes])('time domain, Poincare, DFA of $intervalsMs.length intervals', r => {
    const nn = nnSeriesOf(r.intervalsMs);
    const t = timeDomain(nn);
    expect(t.meanNnMs.value).toBeCloseTo(r.meanNn, 9);
    expect(t.sdnnMs.value).toBeCloseTo(r.sdnn, 9);
    expect(t.rmssdMs.value).toBeCloseTo(r.rmssd, 9);
    expect(t.sdsdMs.value).toBeCloseTo(r.sdsd, 9);
    expect(t.nn50.value).toBe(r.nn50);
    expect(t.pnn50Percent.value).toBeCloseTo(r.pnn50, 9);
    expect(poincare(nn).sd1Ms.value).toBeCloseTo(r.sd1, 9);
    expect(poincare(nn).sd2Ms.value).toBeCloseTo(r.sd2, 9);
    expect(dfaAlpha1(nn).value).toBeCloseTo(r.alpha1, 9);
  });

  test('triangular index', () => {
    const long = reference.twentyFiveMinutes;
    expect(timeDomain(nnSeriesOf(long.intervalsMs)).triangularIndex.value).toBeCloseTo(long.triangularIndex, 12);
  });

  test('shape-preserving cubic', () => {
    expect(worst(tachogram(series).valuesMs, five.shapePreserving)).toBeLessThan(1e-12);
  });

  test('Welch', () => {
    const result = welchSpectrum(series);
    expect(worst(result.spectrum!.density, five.welchFirst)).toBeLessThan(1e-9);
    expectBands(result, five.welch);
    expectBands(welchSpectrum(nnSeriesOf(reference.twentyFiveMinutes.intervalsMs)), reference.twentyFiveMinutes.welch);
  });

  test('Welch on fewer values than a piece', () => {
    const short = tachogram(nnSeriesOf(five.intervalsMs.slice(0, 90)));
    expect(worst(welch(short.valuesMs, 4).density, reference.shortWelch.first)).toBeLessThan(1e-9);
  });

  test('Lomb-Scargle', () => {
    const result = lombSpectrum(series);
    expect(worst(result.spectrum!.density, five.lombFirst)).toBeLessThan(1e-8);
    expectBands(result, five.lomb);
  });
});

// source: the same script; SciPy's welch on both stretches, averaged by their time, and its lombscargle by the time covered
test('a gap of 40 s is not bridged', () => {
  const { intervalsMs, firstGone, lastGone, welch: ofWelch, lomb } = reference.withGap;
  const whole = nnSeriesOf(intervalsMs);
  const keep = (_: number, i: number) => i < firstGone || i > lastGone;
  const series = {
    ...whole,
    timesSeconds: whole.timesSeconds.filter(keep),
    intervalsMs: whole.intervalsMs.filter(keep),
    adjacent: whole.adjacent.map((a, i) => (i === lastGone + 1 ? 0 : a)).filter(keep),
  };
  const found = welchSpectrum(series);
  expect(found).toMatchObject({ bridgedBreaks: 0, bridgedSeconds: 0 });
  expectBands(found, ofWelch);
  expectBands(lombSpectrum(series), lomb);
});

describe('spectra in closed form', () => {
  const amplitude = 25;
  /** Intervals whose value at each beat's time is 800 + A sin(2 pi f t). */
  const modulated = (frequencyHz: number, lengthSeconds: number) => {
    const intervals: number[] = [];
    for (let t = 0; t < lengthSeconds; ) {
      let rr = 0.8;
      for (let i = 0; i < 30; i++) rr = 0.8 + (amplitude / 1000) * Math.sin(2 * Math.PI * frequencyHz * (t + rr));
      t += rr;
      intervals.push(1000 * rr);
    }
    return nnSeriesOf(intervals);
  };

  // source: definition; a sine of amplitude A carries A^2 / 2
  test.each([300, 512, 1300])('0.1 Hz for %i s is all LF', length => {
    for (const { bands } of [welchSpectrum(modulated(0.1, length)), lombSpectrum(modulated(0.1, length))]) {
      expect(Math.abs(bands.lfMs2.value! / (amplitude ** 2 / 2) - 1)).toBeLessThan(0.05);
      expect(bands.hfMs2.value!).toBeLessThan(0.01 * amplitude ** 2);
      expect(bands.lfNu.value!).toBeGreaterThan(98);
    }
  });

  test('0.25 Hz is all HF', () => {
    const { bands } = welchSpectrum(modulated(0.25, 300));
    const lomb = lombSpectrum(modulated(0.25, 300)).bands;
    expect(Math.abs(lomb.hfMs2.value! / (amplitude ** 2 / 2) - 1)).toBeLessThan(0.05);
    // Interpolation that overshoots nowhere flattens the tops of the fastest waves.
    expect(Math.abs(bands.hfMs2.value! / (amplitude ** 2 / 2) - 1)).toBeLessThan(0.1);
    expect(bands.lfMs2.value!).toBeLessThan(0.01 * amplitude ** 2);
  });

  test('Lomb-Scargle keeps the power when a third of the beats is missing', () => {
    const { timesSeconds, intervalsMs } = modulated(0.1, 300);
    const keep = (_: number, i: number) => i % 3 !== 1;
    const { frequenciesHz, density } = lombScargle(timesSeconds.filter(keep), intervalsMs.filter(keep));
    let lf = 0;
    frequenciesHz.forEach((f, k) => {
      if (f > 0.04 && f <= 0.15) lf += density[k]! * (frequenciesHz[1]! - frequenciesHz[0]!);
    });
    expect(Math.abs(lf / (amplitude ** 2 / 2) - 1)).toBeLessThan(0.06);
  });
});
