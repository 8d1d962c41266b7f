import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { randomFrom } from '../../../../src/core/random';
import { drawSteps, electrodeMotion } from '../../../../src/core/simulate/electrode-motion';
import { addNoise } from '../../../../src/core/simulate/noise';
import { burstBandsHz, type Character, octavesFromHz, simulatedCharacter } from '../../../bench/noise-character';

const stored = JSON.parse(
  readFileSync(join(import.meta.dirname, '../../../bench/noise-character.json'), 'utf8'),
) as Record<'measured' | 'simulated', Character>;

const setting = { samplingRateHz: 250, mainsHz: 50, fullScaleMv: 10 };
const walk = { kind: 'steps', fromSeconds: 10, toSeconds: 40, levelMv: 0.3 } as const;
const rms = (x: Float32Array) => Math.sqrt(x.reduce((sum, v) => sum + v * v, 0) / x.length);

describe('electrode motion (source: figures of the MIT-BIH Noise Stress Test Database, tests/bench/noise-character.ts)', () => {
  const simulated = simulatedCharacter(6);
  const { measured } = stored;

  test.each(octavesFromHz.map((hz, k) => [hz, k] as const))('power of the octave from %d Hz within 2.5 dB', (_, k) => {
    expect(Math.abs(simulated.octavesDb[k]! - measured.octavesDb[k]!)).toBeLessThan(2.5);
  });

  test('tails as heavy: kurtosis of each octave from 4 Hz on within a factor of 1.7', () => {
    expect(simulated.kurtosis.length).toBe(5);
    for (const [k, v] of simulated.kurtosis.entries()) {
      expect(v / measured.kurtosis[k]!).toBeGreaterThan(1 / 1.7);
      expect(v / measured.kurtosis[k]!).toBeLessThan(1.7);
    }
  });

  test.each(burstBandsHz.map((band, k) => [...band, k] as const))('bursts from %d to %d Hz', (_, __, k) => {
    const [own, given] = [simulated.bursts[k]!, measured.bursts[k]!];
    expect(Math.abs(own.spread - given.spread)).toBeLessThan(0.15);
    expect(own.perMinute / given.perMinute).toBeGreaterThan(0.7);
    expect(own.perMinute / given.perMinute).toBeLessThan(1.3);
    for (const q of [0, 1]) {
      expect(Math.abs(own.lengthS[q]! - given.lengthS[q]!)).toBeLessThan(0.15);
      expect(Math.abs(own.gapS[q]! - given.gapS[q]!)).toBeLessThan(0.5);
    }
    // They come back a second later and not after half a second.
    expect(own.second - own.halfSecond).toBeGreaterThan(0.4);
  });

  test.each([125, 250, 500, 1000])('has a root mean square of 1 at %d Hz', hz => {
    const x = electrodeMotion(20 * hz, hz, drawSteps(20, randomFrom(1)), randomFrom(2));
    expect(rms(x)).toBeCloseTo(1, 4);
  });

  test('of no samples there is none', () => {
    expect(electrodeMotion(0, 250, drawSteps(0, randomFrom(1)), randomFrom(2)).length).toBe(0);
  });
});

describe('steps as noise of a recording', () => {
  const leads = () => [new Float32Array(50 * 250), new Float32Array(50 * 250)];

  test('have the level asked for, in their stretch alone', () => {
    const [first] = leads();
    expect(addNoise([first!], walk, setting, 'a')).toMatchObject([{ start: 2500, end: 10_000, kind: 'steps' }]);
    expect(rms(first!.subarray(2500, 10_000)) / walk.levelMv).toBeCloseTo(1, 1);
    expect(rms(first!.subarray(0, 2500)) + rms(first!.subarray(10_000))).toBe(0);
  });

  test('are louder where asked, over a second at each end, and go on with the same waves', () => {
    const [plain, raised] = leads();
    addNoise([plain!], walk, setting, 'a');
    const louder = [{ fromSeconds: 20, toSeconds: 26, levelMv: 0.9 }];
    expect(addNoise([raised!], { ...walk, louder }, setting, 'a').slice(1)).toMatchObject([
      { start: 5000, end: 6500, kind: 'steps', levelMv: 0.9 },
    ]);
    for (const i of [3000, 4999, 6500, 9000]) expect(raised![i]).toBe(plain![i]);
    for (const i of [5250, 5700, 6249]) expect(raised![i]! / plain![i]!).toBeCloseTo(3, 5);
    expect(raised![5125]! / plain![5125]!).toBeCloseTo(2, 1);
  });

  test('come in all leads at once with other waves, and anew with another seed', () => {
    const [a, b] = leads();
    addNoise([a!, b!], walk, setting, 'a');
    const [again, other] = leads();
    addNoise([again!], walk, setting, 'a');
    addNoise([other!], walk, setting, 'b');
    expect(again).toEqual(a);
    expect(other).not.toEqual(a);
    const part = (x: Float32Array) => x.subarray(2500, 10_000);
    const product = part(a!).reduce((sum, v, i) => sum + v * part(b!)[i]!, 0) / 7500;
    expect(Math.abs(product) / (rms(part(a!)) * rms(part(b!)))).toBeLessThan(0.4);
  });
});
