import { expect, test } from 'vitest';
import { detectBeats } from '../../../../src/core/detector/detect';
import { randomFrom } from '../../../../src/core/random';
import { countBeats } from '../../../bench/beat-counts';
import { beatTrain, regularBeats } from './pulses';

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

test('a lead whose line jumps and creeps leaves the beats to the other, and its jumps are none', () => {
  const { clear, noisy, beats } = twoLeads();
  const from = 20 * hz;
  const until = 30 * hz;
  // Square pulses, each of which creeps back while the amplifier is blocked: no beat is to be seen in it.
  const pulses = [0, 2.3, 3.1, 5.2, 7.9, 8.3].map(s => from + Math.round(s * hz));
  for (let i = from; i < until; i++) {
    const k = pulses.findLastIndex(at => at <= i);
    clear[i] = Math.round((k % 2 === 0 ? 700 : -100) * Math.exp((pulses[k]! - i) / (3 * hz)));
  }
  const meanwhile = (at: number) => at > from + hz && at < until - hz;
  const found = detectBeats([clear, noisy], hz).samples.filter(meanwhile);
  const expected = beats.filter(meanwhile).length;
  expect(countBeats(beats.filter(meanwhile), found, hz)).toEqual({ tp: expected, fn: 0, fp: 0 });
});

test('a spike like a beat that one electrode alone shows is none, and a beat that both show early is one', () => {
  // Without a steady rhythm no interval speaks against a spike.
  const random = randomFrom('spikes');
  const times: number[] = [];
  for (let t = 0.5; t < seconds - 1; t += 0.6 + 0.6 * random.uniform()) times.push(t);
  const clear = beatTrain(times, { samplingRateHz: hz, seconds });
  const other = beatTrain(times, { samplingRateHz: hz, seconds, amplitude: 120 });
  for (const { words } of [clear, other])
    for (let i = 0; i < words.length; i++) words[i]! += Math.round(4 * random.normal());
  const long = times.slice(0, -1).filter((t, k) => times[k + 1]! - t > 1);
  const spikes = long.filter((_, k) => k % 6 === 0).map(t => t + 0.5);
  const early = long.filter((_, k) => k % 6 === 3).map(t => t + 0.5);
  add(clear.words, beatTrain(spikes, { samplingRateHz: hz, seconds, amplitude: 250 }).words);
  add(clear.words, beatTrain(early, { samplingRateHz: hz, seconds }).words);
  add(other.words, beatTrain(early, { samplingRateHz: hz, seconds, amplitude: 120 }).words);
  const expected = Int32Array.from([...times, ...early], t => Math.round(t * hz)).sort();
  expect(spikes.length).toBeGreaterThan(2);
  expect(countBeats(expected, detectBeats([clear.words, other.words], hz).samples, hz)).toEqual({
    tp: expected.length,
    fn: 0,
    fp: 0,
  });
});

test('a beat that one lead shows odd and small stays one among other waves where the other lead shows its kind', () => {
  const missed = [0, 1, 2, 3, 4, 5].map(seed => {
    const random = randomFrom(`odd ${seed}`);
    const times: number[] = [];
    for (let t = 0.5; t < seconds - 1; t += 0.7 + 0.5 * random.uniform()) times.push(t);
    const odd = (k: number) => k % 6 === 3;
    const usual = times.filter((_, k) => !odd(k));
    const clear = beatTrain(usual, { samplingRateHz: hz, seconds }).words;
    const other = beatTrain(times, { samplingRateHz: hz, seconds, amplitude: 150 }).words;
    for (const [k, t] of times.entries()) {
      const at = Math.round(t * hz);
      if (odd(k)) {
        addHump(clear, at - 6, 20, 7);
        addHump(clear, at + 6, -20, 7);
      } else if (k % 2 === 0) {
        const late = Math.round((0.3 + 0.1 * random.uniform()) * hz);
        addHump(clear, at + late, random.uniform() < 0.5 ? -80 : 80, 9);
      }
    }
    for (let i = 0; i < clear.length; i++) clear[i]! += Math.round(2 * random.normal());
    for (let i = 0; i < other.length; i++) other[i]! += Math.round(6 * random.normal());
    const beats = Int32Array.from(times, t => Math.round(t * hz));
    return countBeats(beats, detectBeats([clear, other], hz).samples, hz).fn;
  });
  expect(missed.reduce((a, b) => a + b)).toBeLessThanOrEqual(5);
});

function addHump(words: Int16Array, at: number, height: number, half: number): void {
  for (let i = -half; i <= half; i++)
    words[at + i]! += Math.round(height * (0.5 + 0.5 * Math.cos((Math.PI * i) / half)));
}

function add(words: Int16Array, more: Int16Array): void {
  for (let i = 0; i < words.length; i++) words[i]! += more[i]!;
}
