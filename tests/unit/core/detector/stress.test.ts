import { describe, expect, test } from 'vitest';
import { detectBeats } from '../../../../src/core/detector/detect';
import { countBeats } from '../../../bench/beat-counts';
import { stressKinds, stressRecording } from './stress';

/** Source of the beats: the simulation; window of ANSI/AAMI EC57. */
describe.each([100, 125, 200, 250, 360, 500, 1000, 2000])('detector on hard recordings at %i Hz', samplingRateHz => {
  test.each(stressKinds)('%s', kind => {
    const { words, beats } = stressRecording(kind, samplingRateHz);
    for (const turned of [words, words.map(v => -v)]) {
      const { tp, fn, fp } = countBeats(beats, detectBeats(turned, samplingRateHz).samples, samplingRateHz);
      // Couplets in a steady rhythm are the hardest.
      expect(tp / (tp + fn)).toBeGreaterThanOrEqual(0.94);
      expect(tp / (tp + fp)).toBeGreaterThanOrEqual(0.97);
    }
  });
});
