import { describe, expect, test } from 'vitest';
import { detectBeats } from '../../../../src/core/detector/detect';
import { randomFrom } from '../../../../src/core/random';
import { countBeats } from '../../../bench/beat-counts';
import { beatTrain } from './pulses';

/** Irregular intervals, as in atrial fibrillation, so that the rhythm says nothing. Source: the simulation. */
const hz = 360;
const seconds = 180;
const random = randomFrom('square pulses');
const times: number[] = [];
for (let t = 0.5; t < seconds - 1; t += 0.55 + 0.5 * random.uniform()) times.push(t);

const ripple = (words: Int16Array) => words.map(v => v + Math.round(4 * random.normal()));

describe('edges steeper than those of the beats around', () => {
  test('square pulses as high as beats are none', () => {
    const { words, beats } = beatTrain(times, { samplingRateHz: hz, seconds });
    const noisy = ripple(words);
    for (let k = 20, n = 0; k < beats.length - 1; k += 20, n++) {
      const middle = Math.round(0.5 * (beats[k]! + beats[k + 1]!));
      const half = 4 + 2 * n;
      for (let i = middle - half; i < middle + half; i++) noisy[i]! += n % 2 === 0 ? 260 : -320;
    }
    const { fn, fp } = countBeats(beats, detectBeats(noisy, hz).samples, hz);
    expect(fn).toBe(0);
    // By energy and shape alone ten of their edges are marked.
    expect(fp).toBeLessThanOrEqual(5);
  });

  test('ectopic beats twice as steep are beats, from the first on', () => {
    const ectopic = (k: number) => k % 9 === 5;
    const own = { samplingRateHz: hz, seconds };
    const usual = beatTrain(
      times.filter((_, k) => !ectopic(k)),
      own,
    ).words;
    const steep = beatTrain(
      times.filter((_, k) => ectopic(k)),
      { ...own, amplitude: -420 },
    ).words;
    const words = ripple(usual.map((v, i) => v + steep[i]!));
    const beats = Int32Array.from(times, t => Math.round(t * hz));
    const { fn, fp } = countBeats(beats, detectBeats(words, hz).samples, hz);
    expect([fn, fp]).toEqual([0, 0]);
  });
});
