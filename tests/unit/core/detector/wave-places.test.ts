import { describe, expect, test } from 'vitest';
import { armSamples, peakedness } from '../../../../src/core/detector/peakedness';
import { createFeatureExtractor, signalFeatures } from '../../../../src/core/detector/suspicion/features';
import { type Suspicion, suspicions } from '../../../../src/core/detector/suspicion/suspicion';
import { waveBeside } from '../../../../src/core/detector/suspicion/wave-places';
import { marksFrom } from '../../../../src/core/marks/markset';
import { beatTrain, regularBeats } from './pulses';

const hz = 500;
const { words, beats } = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds: 30 });

/** The same beats so many milliseconds later, inverted: another lead of the same heart. */
function lead(laterMs: number): Int16Array {
  const by = Math.round((laterMs * hz) / 1000);
  return Int16Array.from(words, (_, i) => -(words[i - by] ?? 0));
}

describe('waves of the other leads', () => {
  test('do not depend on the pieces that words come in', () => {
    const other = lead(60);
    const whole = signalFeatures(words, hz, other);
    for (const size of [1, 7, 1000]) {
      const extractor = createFeatureExtractor(hz, 0, 2);
      for (let at = 0; at < words.length; at += size)
        extractor.push(words.slice(at, at + size), other.slice(at, at + size));
      expect(extractor.finish().others).toEqual(whole.others);
    }
  });

  test('each cell holds its most peaked sample (definition)', () => {
    const { others, cell } = signalFeatures(words, hz, words);
    const working = signalFeatures(words, hz).working;
    const arm = armSamples(hz / 2);
    for (const c of [1, 8, 100]) {
      const heights = Array.from({ length: cell }, (_, k) => Math.abs(peakedness(working, c * cell + k, arm)));
      // The working copy of whole words is rounded.
      expect(Math.abs(others[0]!.height[c]! - Math.max(...heights))).toBeLessThanOrEqual(1);
    }
  });

  test('are found as far from a mark as they are, also beside what is no number', () => {
    const broken = Float32Array.from(lead(60));
    broken.fill(Number.NaN, 0, hz);
    const { others, cell, factor, workingHz } = signalFeatures(words, hz, broken);
    for (const beat of beats.subarray(2, -1)) {
      const off = waveBeside(others[0]!, Math.floor(beat / factor), cell, workingHz)!;
      expect(Math.abs((off * 1000) / workingHz - 60)).toBeLessThan(10);
    }
  });

  test('a flat or noisy lead has none', () => {
    let state = 1;
    const noise = Int16Array.from(words, () => {
      state = (state * 48271) % 2147483647;
      return (state % 400) - 200;
    });
    for (const other of [new Int16Array(words.length), noise]) {
      const { others, cell, factor, workingHz } = signalFeatures(words, hz, other);
      const found = [...beats].filter(b => waveBeside(others[0]!, Math.floor(b / factor), cell, workingHz) !== null);
      expect(found).toEqual([]);
    }
  });
});

describe('suspicion by another lead', () => {
  const input = (...others: Int16Array[]) => ({
    features: signalFeatures(words, hz, ...others),
    marks: beats,
    second: beats,
    secondUnsure: [],
    gaps: [],
    unreadable: [],
  });
  const about = (found: readonly Suspicion[]) =>
    found.flatMap(s => s.findings.filter(f => f.reason === 'another lead: elsewhere'));

  test('a mark is suspected where the other leads peak elsewhere', () => {
    const found = about(suspicions(input(lead(60))));
    expect(found.length).toBeGreaterThan(beats.length - 4);
    expect(found[5]!.sentence).toMatch(
      /^another lead has its peak (5[6-9]|6[0-4]) ms later: the mark may be on the wrong wave$/,
    );
  });

  test('one lead that peaks at the mark is enough for it; nothing is suspected with one lead alone', () => {
    expect(about(suspicions(input(lead(60), lead(4))))).toEqual([]);
    expect(about(suspicions(input()))).toEqual([]);
  });

  test('a lead that has its waves anywhere, as in noise, is not believed', () => {
    const places = [...beats].map((b, k) => b / hz + [-0.1, 0.06, -0.05, 0.1, 0, 0.08, -0.08][k % 7]!);
    const anywhere = beatTrain(places, { samplingRateHz: hz, seconds: 30 }).words;
    expect(about(suspicions(input(anywhere)))).toEqual([]);
  });

  test('a missed beat is found with another lead as without', () => {
    const marks = marksFrom([...beats].filter((_, k) => k !== 10));
    const missing = (i: ReturnType<typeof input>) => suspicions({ ...i, marks }).filter(s => s.mark === null);
    expect(missing(input(lead(60))).map(s => s.at)).toEqual(missing(input()).map(s => s.at));
  });
});
