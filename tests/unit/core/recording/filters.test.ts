import { describe, expect, test } from 'vitest';
import {
  baselineHz,
  canFilter,
  displaySections,
  filterZeroPhase,
  gainAt,
  marginSamples,
  muscleHz,
} from '../../../../src/core/recording/filters';
import reference from '../../../reference/filters/filters.json';

const all = { baseline: true, mainsHz: 50, muscle: true } as const;
const only = {
  baseline: { baseline: true, mainsHz: 0, muscle: false },
  muscle: { baseline: false, mainsHz: 0, muscle: true },
  mains50: { baseline: false, mainsHz: 50, muscle: false },
  mains60: { baseline: false, mainsHz: 60, muscle: false },
} as const;

describe('display filters', () => {
  // source: scipy.signal.butter, iirnotch and freqz; tests/reference/filters/filters.py
  test.each(reference.gains.map(g => [`${g.filter} at ${g.samplingRateHz} Hz`, g] as const))('%s', (_name, row) => {
    const sections = displaySections(only[row.filter as keyof typeof only], row.samplingRateHz);
    expect(sections).toHaveLength(1);
    const { b0, b1, b2, a1, a2 } = sections[0]!;
    for (const [i, c] of [b0, b1, b2].entries()) expect(c).toBeCloseTo(row.b[i]!, 12);
    for (const [i, c] of [1, a1, a2].entries()) expect(c).toBeCloseTo(row.a[i]!, 12);
    for (const [i, f] of row.frequencyHz.entries()) {
      expect(gainAt(sections, f, row.samplingRateHz)).toBeCloseTo(row.gain[i]!, 9);
    }
  });

  // source: definition of a corner frequency, -3 dB = 1/sqrt(2)
  test('both passes together are at -3 dB at the stated corners', () => {
    for (const rate of [100, 130, 250, 1000, 2000]) {
      expect(gainAt(displaySections(only.baseline, rate), baselineHz, rate)).toBeCloseTo(Math.SQRT1_2, 9);
      expect(gainAt(displaySections(only.muscle, rate), muscleHz, rate)).toBeCloseTo(Math.SQRT1_2, 9);
    }
  });

  // source: scipy.signal.filtfilt over 60 s; only 10 s and the margins are filtered here
  test.each(reference.filtered)('a window of $samplingRateHz Hz has no edge effects', row => {
    const rate = row.samplingRateHz;
    const sections = displaySections(all, rate);
    const margin = marginSamples(sections);
    const from = row.shownFromS * rate - margin;
    const values = Float64Array.from({ length: (row.shownToS - row.shownFromS) * rate + 2 * margin }, (_, i) =>
      wave((from + i) / rate),
    );
    filterZeroPhase(values, sections);
    for (const [i, expected] of row.filtered.entries()) {
      expect(Math.abs(values[margin + i * row.everySamples]! - expected)).toBeLessThan(2e-3);
    }
  });

  // source: definition of zero phase: a symmetric pulse stays symmetric about the same sample
  test('a symmetric pulse is not shifted', () => {
    const values = new Float64Array(4001);
    for (let i = -20; i <= 20; i++) values[2000 + i] = 1 - Math.abs(i) / 21;
    filterZeroPhase(values, displaySections(all, 500));
    expect(values.indexOf(Math.max(...values))).toBe(2000);
    for (let i = 1; i < 300; i++) expect(values[2000 + i]).toBeCloseTo(values[2000 - i]!, 4);
  });

  // source: definition of a high-pass filter
  test('a constant goes with the baseline filter and stays without it', () => {
    const values = new Float32Array(2000).fill(5);
    filterZeroPhase(values, displaySections(only.muscle, 250));
    expect(values[0]).toBeCloseTo(5, 4);
    expect(values[1999]).toBeCloseTo(5, 4);
    filterZeroPhase(values, displaySections(only.baseline, 250));
    expect(Math.abs(values[1000]!)).toBeLessThan(1e-4);
  });

  // source: sampling theorem: nothing at or above half the rate can be filtered out
  test('a mains filter that the rate cannot carry is left out', () => {
    expect(displaySections(only.mains50, 100)).toEqual([]);
    expect(canFilter(50, 130)).toBe(true);
    expect(canFilter(60, 120)).toBe(false);
    expect(marginSamples([])).toBe(0);
    filterZeroPhase(new Float32Array(0), displaySections(all, 500));
  });
});

/** The signal of filters.py. */
function wave(t: number): number {
  return (
    Math.sin(2 * Math.PI * 1.3 * t) ** 15 +
    0.8 * Math.sin(2 * Math.PI * 0.05 * t + 1) +
    0.2 * Math.sin(2 * Math.PI * 50 * t) +
    3
  );
}
