import { describe, expect, test } from 'vitest';
import { detectBeats } from '../../../../src/core/detector/detect';
import { Families } from '../../../../src/core/detector/noise/families';
import { fillFine, fineStep } from '../../../../src/core/detector/noise/fine';
import { fillReadability } from '../../../../src/core/detector/noise/readable';
import { rhythmDensity } from '../../../../src/core/detector/noise/rhythm-density';
import { noiseModel, whiten } from '../../../../src/core/detector/noise/whiten';
import { randomFrom } from '../../../../src/core/random';
import { countBeats } from '../../../bench/beat-counts';
import { beatTrain, regularBeats } from './pulses';

describe('noise made white', () => {
  const random = randomFrom('autoregressive');
  const n = 20_000;
  const x = new Float32Array(n);
  for (let i = 2; i < n; i++) x[i] = 1.5 * x[i - 1]! - 0.7 * x[i - 2]! + 2 * random.normal();

  test('finds the model that made it (source: the simulation)', () => {
    const { filter, deviation } = noiseModel(x, 0, n, 12);
    expect(filter[1]).toBeCloseTo(-1.5, 1);
    expect(filter[2]).toBeCloseTo(0.7, 1);
    expect(deviation).toBeCloseTo(2, 1);
  });

  test('what is left is white and of unit variance', () => {
    const out = new Float32Array(n);
    whiten(x, 0, n, noiseModel(x, 0, n, 12), out);
    const lagged = (lag: number) => out.reduce((sum, v, i) => sum + v * (out[i - lag] ?? 0), 0) / n;
    expect(lagged(0)).toBeCloseTo(1, 1);
    for (const lag of [1, 2, 3, 5]) expect(Math.abs(lagged(lag))).toBeLessThan(0.05);
  });

  test('a lead without a signal gives nothing', () => {
    expect(noiseModel(new Float32Array(100), 0, 100, 12).deviation).toBe(0);
  });
});

describe('density of the rhythm', () => {
  test('integrates to one over the intervals it knows, with its peak at the usual one', () => {
    const intervals = Array.from({ length: 30 }, (_, k) => ({ at: k, rr: 0.8 }));
    const { log, logPeak } = rhythmDensity(intervals, 0, 40, 0.1);
    const width = Math.log(3.5 / 0.2) / log.length;
    const middle = (k: number) => 0.2 * Math.exp((k + 0.5) * width);
    const sum = log.reduce((a, v, k) => a + Math.exp(v + logPeak) * middle(k) * width, 0);
    expect(sum).toBeCloseTo(1, 1);
    expect(middle(log.indexOf(0))).toBeCloseTo(0.8, 1);
  });

  test('what is near counts more than what is far', () => {
    const intervals = [...Array(30).keys()].flatMap(k => [
      { at: k, rr: 0.6 },
      { at: 400 + k, rr: 1 },
    ]);
    const peakAt = (at: number) => {
      const { log } = rhythmDensity(intervals, at, 40, 0.1);
      return 0.2 * Math.exp(((log.indexOf(0) + 0.5) / log.length) * Math.log(3.5 / 0.2));
    };
    expect(peakAt(0)).toBeCloseTo(0.6, 1);
    expect(peakAt(400)).toBeCloseTo(1, 1);
  });
});

describe('families of beats', () => {
  const wave = (width: number, height: number) => {
    const x = new Float32Array(200);
    for (let i = 0; i < 200; i++) x[i] = height * Math.exp(-0.5 * ((i - 100) / width) ** 2) * (i - 100);
    return x;
  };

  test('three of a kind are a family, however they are mixed', () => {
    const families = new Families(125, 1);
    for (let k = 0; k < 8; k++) families.learn([k % 2 === 0 ? wave(3, 1) : wave(9, -1)], 200, 100, 2);
    expect(families.known.length).toBe(2);
    expect(families.known[0]!.apex).toBe(2);
    families.learn([wave(5, 3)], 200, 100, 0);
    expect(families.known.length).toBe(2);
  });

  test('a beat that lies beside is put straight', () => {
    const families = new Families(125, 1);
    families.learn([wave(3, 1)], 200, 100, 0);
    expect(families.bestFit([wave(3, 1)], 200, 96)).toMatchObject({ lag: 4 });
    expect(families.bestFit([wave(3, 1)], 200, 20)).toBe(null);
  });
});

test('readability falls as noise rises', () => {
  const hz = 250;
  const { words } = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds: 60 });
  const random = randomFrom('readability');
  const values = [2, 8, 32, 128].map(level => {
    const x = Float32Array.from(words, v => v + level * random.normal());
    const fine = new Float32Array(x.length);
    const power = new Float32Array(x.length);
    const count = fillFine(x, x.length, fineStep(hz), fine, power);
    const out = new Float32Array(20);
    fillReadability(power, Math.floor(count / 15), out);
    return out[10]!;
  });
  for (let k = 1; k < values.length; k++) expect(values[k]).toBeLessThan(values[k - 1]!);
  expect(values[0]).toBeGreaterThan(6);
  expect(values[3]).toBeLessThan(3);
});

test('beats of less than half their size for seconds are found in a little noise (source of the beats: the simulation)', () => {
  const hz = 250;
  const { words, beats } = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds: 240 });
  const random = randomFrom('low beats');
  const low = words.map((v, i) => {
    const within = (from: number, to: number) => i > from * hz && i < to * hz;
    return (within(120, 130) ? 0.4 : 1) * v + (within(100, 150) ? 8 * random.normal() : 0);
  });
  expect(countBeats(beats, detectBeats(low, hz).samples, hz)).toEqual({ tp: beats.length, fn: 0, fp: 0 });
});

test('an early beat that looks like no other is found in a little noise (source of the beats: the simulation)', () => {
  const hz = 250;
  const bump = (t: number, width: number) => Math.exp(-0.5 * (t / width) ** 2);
  const odd = [
    (t: number) => 1.5 * bump(t, 0.035) - 0.6 * bump(t - 0.09, 0.03) - 0.4 * bump(t - 0.3, 0.08),
    (t: number) => 1.2 * bump(t - 0.03, 0.03) - 0.8 * bump(t + 0.04, 0.025) - 0.4 * bump(t - 0.3, 0.08),
    (t: number) => 1.2 * bump(t + 0.03, 0.02) - 1.2 * bump(t - 0.05, 0.03) + 0.3 * bump(t - 0.3, 0.08),
    (t: number) => 0.4 * bump(t - 0.06, 0.02) - 1.1 * bump(t + 0.02, 0.03) + 0.5 * bump(t - 0.3, 0.08),
  ];
  const early = odd.map((_, k) => 30.5 + 40 * k);
  const usual = Array.from({ length: 240 }, (_, k) => 0.4 + 0.8 * k).filter(t =>
    early.every(e => t < e || t > e + 0.7),
  );
  const { words } = beatTrain(usual, { samplingRateHz: hz, seconds: 195 });
  const random = randomFrom('odd beats');
  const noisy = words.map((v, i) => {
    const ectopic = early.reduce((sum, e, k) => sum + (Math.abs(i / hz - e) < 1 ? odd[k]!(i / hz - e) : 0), 0);
    return v + 200 * ectopic + 12 * random.normal();
  });
  const beats = Int32Array.from(
    [...usual, ...early].sort((a, b) => a - b),
    t => Math.round(t * hz),
  );
  expect(countBeats(beats, detectBeats(noisy, hz).samples, hz)).toEqual({ tp: beats.length, fn: 0, fp: 0 });
});

describe('several leads (source of the beats: the simulation)', () => {
  const hz = 250;
  const { words, beats } = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds: 300 });
  const f1 = (found: Int32Array) => {
    const { tp, fn, fp } = countBeats(beats, found, hz);
    return (2 * tp) / (2 * tp + fn + fp);
  };
  /** Noise of low and high frequencies over the middle three minutes. */
  const noisy = (seed: string, level: number, sign = 1) => {
    const random = randomFrom(seed);
    let wander = 0;
    return words.map((v, i) => {
      wander = 0.98 * wander + level * random.normal();
      return i > 60 * hz && i < 240 * hz ? v + sign * Math.round(wander) : v;
    });
  };

  test('two see more than one, and noise with opposite signs drops out', () => {
    const [a, b] = [noisy('a', 120), noisy('b', 120)];
    const opposite = noisy('a', 120, -1);
    const one = f1(detectBeats(a, hz).samples);
    expect(one).toBeLessThan(0.97);
    expect(f1(detectBeats([a, b], hz).samples)).toBeGreaterThan(one);
    expect(f1(detectBeats([a, opposite], hz).samples)).toBeGreaterThan(0.98);
  });

  test('a lead that is off, or off for a while, takes nothing away', () => {
    const off = new Int16Array(words.length).fill(500);
    expect(f1(detectBeats([off, words], hz).samples)).toBe(1);
    expect(f1(detectBeats([words, off], hz).samples)).toBe(1);
    const turns = [words.slice().fill(-900, 100 * hz, 150 * hz), words.slice().fill(700, 140 * hz, 200 * hz)];
    const found = detectBeats(turns, hz);
    const inBoth = (at: number) => at > 139 * hz && at < 151 * hz;
    const seen = beats.filter(at => !inBoth(at));
    const { fn, fp } = countBeats(
      seen,
      found.samples.filter(at => !inBoth(at)),
      hz,
    );
    expect(fn + fp).toBe(0);
    expect(found.unsure.length).toBe(1);
    expect(found.unsure[0]!.start).toBe(140 * hz);
    expect(found.unsure[0]!.end).toBeLessThanOrEqual(152 * hz);
  });

  test('the same lead twice gives the marks of the lead', () => {
    expect(detectBeats([words, words], hz).samples).toEqual(detectBeats(words, hz).samples);
  });

  test('leads of different length are refused', () => {
    expect(() => detectBeats([words, words.subarray(1)], hz)).toThrow(RangeError);
  });
});
