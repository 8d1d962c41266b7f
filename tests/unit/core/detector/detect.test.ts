import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { createDetector, detectBeats } from '../../../../src/core/detector/detect';
import { covers } from '../../../../src/core/marks/spans';
import { span } from '../../../../src/core/units';
import { countBeats } from '../../../bench/beat-counts';
import { withElectrodeMotion } from '../../../bench/electrode-motion';
import { openRecording, openRecordings, openRecordingsPresent } from '../../../bench/open-recordings';
import { beatTrain, regularBeats } from './pulses';

const within = (beats: Int32Array, found: Int32Array, samples: number) =>
  beats.length === found.length && beats.every((b, i) => Math.abs(b - found[i]!) <= samples);

describe('detector on pulses with known beats', () => {
  for (const samplingRateHz of [100, 128, 250, 360, 500, 1000, 2000])
    test(`finds every beat to 10 ms at ${samplingRateHz} Hz, upward and downward`, () => {
      const { words, beats } = regularBeats({ samplingRateHz, rrS: 0.8, seconds: 30 });
      const tolerance = Math.max(1, Math.round(0.01 * samplingRateHz));
      expect(within(beats, detectBeats(words, samplingRateHz).samples, tolerance)).toBe(true);
      const down = words.map(v => -v);
      expect(within(beats, detectBeats(down, samplingRateHz).samples, tolerance)).toBe(true);
    });

  test('puts the mark on the very sample of the apex at full rate', () => {
    const { words, beats } = regularBeats({ samplingRateHz: 1000, rrS: 0.913, seconds: 20 });
    expect(within(beats, detectBeats(words, 1000).samples, 1)).toBe(true);
  });

  test('does not depend on gain, offset or sample format', () => {
    const { words } = regularBeats({ samplingRateHz: 250, rrS: 0.7, seconds: 60 });
    const expected = detectBeats(words, 250).samples;
    expect(expected.length).toBeGreaterThan(80);
    const louder = words.map(v => v * 20 + 900);
    expect(detectBeats(louder, 250).samples).toEqual(expected);
    expect(
      detectBeats(
        Float32Array.from(words, v => v / 200),
        250,
      ).samples,
    ).toEqual(expected);
    expect(
      detectBeats(
        Int32Array.from(words, v => v * 1000),
        250,
      ).samples,
    ).toEqual(expected);
  });

  test('gives the same result however the words arrive, across several stretches', () => {
    const { words } = regularBeats({ samplingRateHz: 250, rrS: 0.83, seconds: 400 });
    for (let i = 20_000; i < 24_000; i++) words[i] = Math.round(words[i]! + 150 * Math.sin(i * i * 1e-3));
    const whole = detectBeats(words, 250);
    for (const piece of [1, 777, 30_000]) {
      const detector = createDetector(250);
      for (let i = 0; i < words.length; i += piece) detector.push(words.subarray(i, i + piece));
      expect(detector.finish()).toEqual(whole);
    }
  });

  test('keeps a pause of six seconds empty and goes on after it', () => {
    const times = [1, 1.8, 2.6, 3.4, 4.2, 10.2, 11, 11.8, 12.6, 13.4, 14.2];
    const { words, beats } = beatTrain(times, { samplingRateHz: 500, seconds: 15 });
    for (let i = 0; i < words.length; i++) words[i]! += i % 3;
    expect(within(beats, detectBeats(words, 500).samples, 5)).toBe(true);
  });

  test('follows beats that shrink to a quarter of their height', () => {
    const { words, beats } = regularBeats({ samplingRateHz: 250, rrS: 0.8, seconds: 120, amplitude: 800 });
    for (let i = 15_000; i < words.length; i++) words[i] = Math.round(words[i]! / 4);
    expect(within(beats, detectBeats(words, 250).samples, 3)).toBe(true);
  });

  test('works through lead-off and says that it could not see', () => {
    const hz = 250;
    const { words, beats } = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds: 90 });
    words.fill(32_767, 30 * hz, 45 * hz);
    const found = detectBeats(words, hz);
    const seen = beats.filter(b => b < 29.8 * hz || b > 45.2 * hz);
    expect(
      within(
        seen,
        found.samples.filter(b => b < 29.8 * hz || b > 45.2 * hz),
        3,
      ),
    ).toBe(true);
    expect(found.samples.some(b => b >= 30 * hz && b < 45 * hz)).toBe(false);
    expect(covers(found.unsure, 37 * hz)).toBe(true);
    expect(covers(found.unsure, 10 * hz)).toBe(false);
  });

  test('marks nothing inside a gap and lists it as unsure', () => {
    const hz = 360;
    const { words } = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds: 60 });
    const gap = span(20 * hz, 32 * hz);
    const found = detectBeats(words, hz, { gaps: [gap] });
    expect(found.samples.some(b => b >= gap.start && b < gap.end)).toBe(false);
    expect(found.samples.some(b => b > gap.end && b < gap.end + 1.5 * hz)).toBe(true);
    expect(covers(found.unsure, gap.start + hz)).toBe(true);
  });

  test('words that are not finite do not spoil the rest', () => {
    const hz = 250;
    const { words, beats } = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds: 40 });
    const x = Float32Array.from(words);
    x.fill(Number.NaN, 15 * hz, 20 * hz);
    const found = detectBeats(x, hz);
    expect(
      within(
        beats.filter(b => b > 21 * hz),
        found.samples.filter(b => b > 21 * hz),
        3,
      ),
    ).toBe(true);
    expect(covers(found.unsure, 17 * hz)).toBe(true);
  });

  test('clipped R waves are still found', () => {
    const { words, beats } = regularBeats({ samplingRateHz: 500, rrS: 0.75, seconds: 40 });
    const clipped = words.map(v => Math.min(v, 90));
    expect(within(beats, detectBeats(clipped, 500).samples, 10)).toBe(true);
  });

  test('an empty and a very short recording have no beats', () => {
    expect(detectBeats(new Int16Array(0), 250)).toEqual({
      samples: new Int32Array(0),
      probability: new Float32Array(0),
      unsure: [],
    });
    expect(detectBeats(new Int16Array(3), 250).samples.length).toBe(0);
    expect(createDetector(250).finish().samples.length).toBe(0);
  });

  test('refuses a rate that is no sampling rate', () => {
    expect(() => createDetector(0)).toThrow(RangeError);
    expect(() => createDetector(Number.NaN)).toThrow(RangeError);
  });
});

describe('detector on package samples', () => {
  const extract = join(import.meta.dirname, '../../../reference/detector');

  test('finds the three beats of the one-second sample (source: PyWavelets ecg.npy, beats at 191, 519, 848)', () => {
    const words = Int16Array.from(JSON.parse(readFileSync(join(extract, 'pywavelets-ecg.json'), 'utf8')).words);
    expect(words.length).toBe(1024);
    const { samples } = detectBeats(words, 360);
    expect(samples.length).toBe(3);
    for (const [i, beat] of [191, 519, 848].entries()) expect(Math.abs(samples[i]! - beat)).toBeLessThanOrEqual(2);
  });

  test('agrees with the experts on the five-minute sample (source: SciPy misc/ecg.dat, 509 beats)', () => {
    const bytes = readFileSync(join(extract, 'scipy-ecg.i16'));
    const words = new Int16Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
    expect(words.length).toBe(108_000);
    // Seven of the 509 lie where the electrode lets go and no wave can be seen.
    const found = detectBeats(words, 360).samples.length;
    expect(found).toBeGreaterThanOrEqual(499);
    expect(found).toBeLessThanOrEqual(511);
  });
});

describe.skipIf(!openRecordingsPresent)(
  'detector on open recordings (source: expert beats, window of ANSI/AAMI EC57)',
  () => {
    test('gross sensitivity at least 99.8 % and positive predictive value at least 99.8 %', () => {
      const gross = { tp: 0, fn: 0, fp: 0 };
      for (const name of openRecordings) {
        const { words, beats, samplingRateHz } = openRecording(name);
        const c = countBeats(beats, detectBeats(words, samplingRateHz).samples, samplingRateHz);
        gross.tp += c.tp;
        gross.fn += c.fn;
        gross.fp += c.fp;
      }
      expect(gross.tp / (gross.tp + gross.fn)).toBeGreaterThanOrEqual(0.998);
      expect(gross.tp / (gross.tp + gross.fp)).toBeGreaterThanOrEqual(0.998);
    });

    test('stays above 98 % F1 at 6 dB of electrode motion', () => {
      const { words, beats, samplingRateHz } = openRecording('119');
      const noisy = withElectrodeMotion(words, beats, samplingRateHz, 6, 1);
      const { tp, fn, fp } = countBeats(beats, detectBeats(noisy, samplingRateHz).samples, samplingRateHz);
      expect((2 * tp) / (2 * tp + fn + fp)).toBeGreaterThan(0.98);
    });
  },
);

if (!openRecordingsPresent) console.log('not run: open recordings absent');
