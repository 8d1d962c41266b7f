import { expect, test } from 'vitest';
import { detectBeats } from '../../../../src/core/detector/detect';
import { randomFrom } from '../../../../src/core/random';
import { countBeats } from '../../../bench/beat-counts';
import { regularBeats } from './pulses';

const hz = 250;
const seconds = 60;

/** A clear lead, and one with the same beats in noise. */
function twoLeads() {
  const clear = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds });
  const noisy = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds });
  const random = randomFrom('two leads');
  for (let i = 0; i < noisy.words.length; i++) noisy.words[i]! += Math.round(14 * random.normal());
  return { clear: clear.words, noisy: noisy.words, beats: clear.beats };
}

test('a lead whose amplifier is blocked leaves the beats to the other, though that has more noise', () => {
  const { clear, noisy, beats } = twoLeads();
  const from = 20 * hz;
  const blocked = 5 * hz;
  for (let i = from; i < from + blocked; i++) clear[i] = Math.round(900 * Math.exp((from - i) / (2 * hz)));
  // The jolt itself may be taken for a beat.
  const meanwhile = (at: number) => at > from + hz && at < from + blocked;
  const found = detectBeats([clear, noisy], hz).samples.filter(meanwhile);
  expect(countBeats(beats.filter(meanwhile), found, hz)).toEqual({ tp: 5, fn: 0, fp: 0 });
});
