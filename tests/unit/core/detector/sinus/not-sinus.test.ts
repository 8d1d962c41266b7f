import { describe, expect, test } from 'vitest';
import { notSinusBeats } from '../../../../../src/core/detector/sinus/not-sinus';
import { signalFeatures } from '../../../../../src/core/detector/suspicion/features';
import { marksFrom, noMarks } from '../../../../../src/core/marks/markset';
import { type Ecg, simulateEcg } from '../../../../../src/core/simulate/ecg';
import { BeatClass, restingVariability } from '../../../../../src/core/simulate/rhythm';
import { plainShape } from '../../../../../src/core/simulate/waveform';
import { openClasses, openRecording, openRecordings, openRecordingsPresent } from '../../../../bench/open-recordings';
import { isNotSinus, unclassified } from '../../../../bench/sinus-key';

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

function proposed(ecg: Ecg, marks = ecg.beats) {
  const features = signalFeatures(ecg.leads[0]!, ecg.samplingRateHz);
  return notSinusBeats(features, marks);
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

  test('in a signal that never changes: none, and no error', () => {
    const features = signalFeatures(new Int16Array(10_000), 250);
    expect(notSinusBeats(features, marksFrom([1000, 2000, 3000, 4000, 5000, 6000, 7000]))).toEqual([]);
  });
});

describe.skipIf(!openRecordingsPresent)(
  'beats proposed as not sinus, on open records (source: the labels of their experts)',
  () => {
    // Two of them, for time: ventricular beats that are all alike (119), atrial and one ventricular beat (100).
    test.each([
      ['119', 444, 0],
      ['100', 33, 7],
    ])('record %s', (name, least, most) => {
      const { words, beats, samplingRateHz } = openRecording(name);
      const labels = openClasses(name);
      const found = new Set(notSinusBeats(signalFeatures(words, samplingRateHz), beats).map(b => b.at as number));
      const proposedOf = (wanted: boolean) =>
        labels.filter((l, k) => l !== unclassified && isNotSinus(l) === wanted && found.has(beats[k]!)).length;
      expect(openRecordings).toContain(name);
      expect(proposedOf(true)).toBeGreaterThanOrEqual(least);
      expect(proposedOf(false)).toBeLessThanOrEqual(most);
    });
  },
);

if (!openRecordingsPresent) console.log('not run: open recordings absent');
