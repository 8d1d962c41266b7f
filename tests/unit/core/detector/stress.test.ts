import { expect, test } from 'vitest';
import { detectBeats } from '../../../../src/core/detector/detect';
import { countBeats } from '../../../bench/beat-counts';
import { stressKinds, stressRecording } from './stress';

/** From 375 Hz on samples are joined to about 250 Hz first: each kind at one of these rates shows that. */
const joined = [500, 1000, 2000];
const cases = [
  ...[100, 125, 200, 250, 360].flatMap(hz => stressKinds.map(kind => [kind, hz] as const)),
  ...stressKinds.map((kind, k) => [kind, joined[k % joined.length]!] as const),
];

/** Source of the beats: the simulation; window of ANSI/AAMI EC57. */
test.each(cases)('beats of a hard recording, %s, at %i Hz', (kind, samplingRateHz) => {
  const { words, beats } = stressRecording(kind, samplingRateHz);
  for (const turned of [words, words.map(v => -v)]) {
    const { tp, fn, fp } = countBeats(beats, detectBeats(turned, samplingRateHz).samples, samplingRateHz);
    // Couplets in a steady rhythm are the hardest.
    expect(tp / (tp + fn)).toBeGreaterThanOrEqual(0.94);
    expect(tp / (tp + fp)).toBeGreaterThanOrEqual(0.97);
  }
});
