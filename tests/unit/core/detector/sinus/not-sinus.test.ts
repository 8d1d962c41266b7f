import { describe, expect, test } from 'vitest';
import { notSinusBeats } from '../../../../../src/core/detector/sinus/not-sinus';
import { sinusTuning } from '../../../../../src/core/detector/sinus/tuning';
import { signalFeatures } from '../../../../../src/core/detector/suspicion/features';
import { marksFrom, noMarks } from '../../../../../src/core/marks/markset';
import { randomFromNumber } from '../../../../../src/core/random';
import type { SampleArray } from '../../../../../src/core/recording/recording';
import { type Ecg, simulateEcg } from '../../../../../src/core/simulate/ecg';
import { BeatClass, restingVariability } from '../../../../../src/core/simulate/rhythm';
import { plainShape } from '../../../../../src/core/simulate/waveform';
import stored from '../../../../bench/not-sinus.json';
import {
  openClasses,
  openLead,
  openRecording,
  openRecordings,
  openRecordingsPresent,
} from '../../../../bench/open-recordings';
import { isNotSinus, unclassified } from '../../../../bench/sinus-key';
import { notSinusGross } from '../../../../house/not-sinus-tables';

function recorded(ventricular: number, supraventricular: number, samplingRateHz = 250): Ecg {
  return simulateEcg(
    {
      rhythm: {
        durationSeconds: 300,
        effort: [{ atSeconds: 0, heartRateBpm: 66, breathsPerMinute: 14, settlingSeconds: 30 }],
        variability: restingVariability,
        ventricularPerMinute: ventricular,
        supraventricularPerMinute: supraventricular,
      },
      shape: plainShape,
      recorder: {
        samplingRateHz,
        durationSeconds: 300,
        leads: [{ name: 'a', angleDegrees: 40 }],
        mvPerUnit: 0.005,
        fullScaleMv: 5,
        mainsHz: 50,
        floorMv: 0.01,
        startSeconds: 0,
        driftPpm: 0,
        noise: [],
      },
    },
    'not sinus',
  );
}

const signalOf = (words: SampleArray, hz: number) => ({ features: signalFeatures(words, hz), mvPerUnit: 0.005 });

function proposed(ecg: Ecg, marks = ecg.beats) {
  return notSinusBeats(
    ecg.leads.map(words => signalOf(words, ecg.samplingRateHz)),
    marks,
  );
}

function outcome(ecg: Ecg, kind: BeatClass) {
  const found = new Set(proposed(ecg).map(b => b.at as number));
  const of = (wanted: boolean) => [...ecg.beats].filter((_, k) => (ecg.classes[k] === kind) === wanted);
  return {
    planted: of(true).length,
    found: of(true).filter(b => found.has(b)).length,
    wrong: of(false).filter(b => found.has(b)).length,
  };
}

describe('beats proposed as not sinus, on made signals with known beats', () => {
  test.each([130, 250, 500])('ventricular beats by their shape at %i Hz', rate => {
    const { planted, found, wrong } = outcome(recorded(4, 0, rate), BeatClass.ventricular);
    expect(planted).toBeGreaterThan(8);
    expect(found).toBeGreaterThanOrEqual(planted - 1);
    expect(wrong).toBeLessThanOrEqual(1);
  });

  test('atrial beats by their timing', () => {
    const { planted, found, wrong } = outcome(recorded(0, 4), BeatClass.supraventricular);
    expect(planted).toBeGreaterThan(8);
    expect(found).toBeGreaterThanOrEqual(0.8 * planted);
    expect(wrong).toBeLessThanOrEqual(1);
  });

  test('hardly any in a sinus rhythm that follows the breath', () => {
    expect(proposed(recorded(0, 0)).length).toBeLessThanOrEqual(1);
  });

  test('each with its reason in words, ventricular beats as one kind', () => {
    const beats = proposed(recorded(4, 0));
    expect(new Set(beats.map(b => b.kind)).size).toBe(1);
    for (const { sentence } of beats)
      expect(sentence).toMatch(/^shape unlike the sinus beats, \d+ % early; \d+ others are like it$/);
  });

  test('of no marks, of one, of two, and at the ends of the recording: none, and no error', () => {
    const ecg = recorded(0, 0);
    for (const marks of [noMarks, marksFrom([5000]), marksFrom([0, ecg.sampleCount - 1])])
      expect(proposed(ecg, marks)).toEqual([]);
  });

  test('a second lead that shows no beats changes nothing', () => {
    const ecg = recorded(4, 4);
    const random = randomFromNumber(5);
    const noise = Int16Array.from(ecg.leads[0]!, () => Math.round(400 * (random.uniform() - 0.5)));
    const [one, other] = [ecg.leads[0]!, noise].map(words => signalOf(words, ecg.samplingRateHz));
    expect(notSinusBeats([one!, other!], ecg.beats)).toEqual(notSinusBeats([one!], ecg.beats));
  });

  test('a beat of another shape in one lead, as usual in the other, is a change of the axis and not proposed', () => {
    const ecg = recorded(0, 0);
    const words = ecg.leads[0]!;
    const turned = words.slice();
    const turnedBeats = [...ecg.beats].filter((_, k) => k % 9 === 4);
    const reach = 0.1 * ecg.samplingRateHz;
    for (const at of turnedBeats) for (let i = at - reach; i <= at + reach; i++) turned[i] = -words[i]!;
    const [changed, usual] = [turned, words].map(w => signalOf(w, ecg.samplingRateHz));
    const places = (beats: readonly { at: number }[]) => beats.map(b => b.at).filter(at => turnedBeats.includes(at));
    expect(places(notSinusBeats([changed!, changed!], ecg.beats)).length).toBeGreaterThan(0.9 * turnedBeats.length);
    expect(places(notSinusBeats([changed!, usual!], ecg.beats))).toEqual([]);
  });

  test('in a signal that never changes: none, and no error', () => {
    const still = signalOf(new Int16Array(10_000), 250);
    expect(notSinusBeats([still], marksFrom([1000, 2000, 3000, 4000, 5000, 6000, 7000]))).toEqual([]);
  });
});

describe.skipIf(!openRecordingsPresent)(
  'beats proposed as not sinus, on open records (source: the labels of their experts)',
  () => {
    // Two of them, for time: ventricular beats that are all alike (119), atrial and one ventricular beat (100).
    test.each([
      ['119', 444, 0],
      ['100', 34, 4],
    ])('record %s', (name, least, most) => {
      const { words, beats, samplingRateHz } = openRecording(name);
      const labels = openClasses(name);
      const leads = [words, openLead(`${name}-lead2`)].map(w => signalOf(w, samplingRateHz));
      const found = new Set(notSinusBeats(leads, beats).map(b => b.at as number));
      const proposedOf = (wanted: boolean) =>
        labels.filter((l, k) => l !== unclassified && isNotSinus(l) === wanted && found.has(beats[k]!)).length;
      expect(openRecordings).toContain(name);
      expect(proposedOf(true)).toBeGreaterThanOrEqual(least);
      expect(proposedOf(false)).toBeLessThanOrEqual(most);
    });
  },
);

// source: the labels of the open records' experts, by tests/bench/not-sinus.ts
test('of all eight records at least 95 of 100 are found and 95 of 100 proposals right, with the limits in use', () => {
  expect(stored.limits).toEqual(sinusTuning);
  const { tp, fn, fp } = notSinusGross(stored.rows, 'own');
  expect(tp / (tp + fn)).toBeGreaterThanOrEqual(0.95);
  expect(tp / (tp + fp)).toBeGreaterThanOrEqual(0.95);
});

if (!openRecordingsPresent) console.log('not run: open recordings absent');
