import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { alignClocks, type ClockFit, toClockA, toClockB } from '../../../../src/core/agreement/clock';
import { type Random, randomFromNumber } from '../../../../src/core/random';
import { amount } from '../../amount';

/** Beat times of a heart with breathing, slow waves and wander, in s. */
function heart(random: Random, lengthSeconds: number): number[] {
  const beats: number[] = [];
  let wander = 0;
  for (let t = 0; t < lengthSeconds; ) {
    wander = 0.98 * wander + 0.006 * random.normal();
    const waves = 0.03 * Math.sin(2 * Math.PI * 0.25 * t) + 0.02 * Math.sin(2 * Math.PI * 0.1 * t);
    t += Math.max(0.3, 0.75 + wander + waves + 0.015 * random.normal());
    beats.push(t);
  }
  return beats;
}

const fitted = (a: number[], b: number[]): ClockFit => {
  const result = alignClocks(a, b);
  if (!result.found) throw new Error(result.reason);
  return result;
};

describe('clocks of two recorders on one body', () => {
  // source: the planted clock; offsets to +-10 min, drift to +-200 ppm, 20 % of beats missing on each side at random,
  // marks 2 ms apart by chance, must be found within 5 ms and 2 ppm
  test.each(Array.from({ length: amount(16, 2) }, (_, seed) => seed))('simulated clocks, seed %i', seed => {
    const random = randomFromNumber(seed);
    const length = [1500, 1800, 2700, 5400][seed % 4]!;
    const offset = seed < 2 ? (seed === 0 ? 600 : -600) : 600 * (2 * random.uniform() - 1);
    const drift = seed < 2 ? (seed === 0 ? -200 : 200) : 200 * (2 * random.uniform() - 1);
    const beats = heart(random, length);
    const seen = () => random.uniform() > 0.2;
    const a = beats.filter(seen).map(t => t + 0.002 * random.normal());
    const b = beats.filter(seen).map(t => offset + (1 + drift * 1e-6) * t + 0.002 * random.normal());
    const found = fitted(
      a,
      b.filter(t => t >= 0),
    );
    expect(Math.abs(found.offsetSeconds - offset)).toBeLessThan(0.005);
    expect(Math.abs(found.driftPpm - drift)).toBeLessThan(2);
    // four in five of the beats in the time both cover are on the other recorder too
    expect(found.pairs.a.length / found.beatsInOverlapA).toBeGreaterThan(0.72);
    expect(found.residualSdMs).toBeGreaterThan(1.5);
    expect(found.residualSdMs).toBeLessThan(4);
    expect(found.residualsMs.length).toBe(found.pairs.b.length);
  });

  test('the same series twice: no offset, no drift, every beat paired with itself', () => {
    const beats = heart(randomFromNumber(5), 900);
    const found = fitted(beats, beats);
    expect(Math.abs(found.offsetSeconds)).toBeLessThan(1e-9);
    expect(Math.abs(found.driftPpm)).toBeLessThan(1e-6);
    expect([...found.pairs.a]).toEqual(beats.map((_, i) => i));
    expect(found.pairs.b).toEqual(found.pairs.a);
  });

  // source: the planted clock; drift as real recorders have it (-674 ppm and beyond)
  test.each([-674, 950, -1000])('a drift of %i ppm is found', drift => {
    const random = randomFromNumber(50);
    const beats = heart(random, 1800);
    const b = beats.map(t => 40 + (1 + drift * 1e-6) * t + 0.002 * random.normal());
    const found = fitted(beats, b);
    expect(Math.abs(found.driftPpm - drift)).toBeLessThan(2);
    expect(Math.abs(found.offsetSeconds - 40)).toBeLessThan(0.005);
    expect(found.residualSdMs).toBeLessThan(4);
  });

  test('two hearts are not aligned', () => {
    const length = amount(1200, 400);
    for (let seed = 100; seed < 100 + amount(4, 1); seed++) {
      const random = randomFromNumber(seed);
      expect(alignClocks(heart(random, length), heart(random, length))).toMatchObject({ found: false });
    }
  });

  test('a metronome fits many offsets', () => {
    const a = Array.from({ length: amount(1500, 400) }, (_, i) => i * 0.8);
    const result = alignClocks(
      a,
      a.map(t => t + 100),
    );
    expect(result).toMatchObject({ found: false, reason: expect.stringContaining('too regular') });
  });

  test('too few beats, or no time in common', () => {
    const beats = heart(randomFromNumber(1), 300);
    expect(alignClocks(beats.slice(0, 20), beats)).toMatchObject({ found: false });
    expect(alignClocks([], [])).toMatchObject({ found: false });
    expect(
      alignClocks(
        beats,
        heart(randomFromNumber(2), 300).map(t => t + 5000),
      ),
    ).toMatchObject({ found: false });
  });

  // source: definition; the two mappings undo each other
  test('mapping there and back', () => {
    const number = (max: number) => fc.double({ min: -max, max, noNaN: true });
    fc.assert(
      fc.property(number(600), number(200), number(86_400), (offsetSeconds, driftPpm, time) => {
        const clock = { offsetSeconds, driftPpm };
        expect(toClockA(clock, toClockB(clock, time))).toBeCloseTo(time, 8);
      }),
    );
    expect(toClockB({ offsetSeconds: 2, driftPpm: 100 }, 1000)).toBeCloseTo(1002.1, 9);
  });
});

const openData = join(import.meta.dirname, '../../../../../shared/open-data');
const absent = !existsSync(openData);
if (absent) console.log('not run: open recordings absent');

// source: experts' beats of the MIT-BIH Arrhythmia Database (Moody & Mark, IEEE Eng Med Biol 2001;20(3):45); planted clock
describe.skipIf(absent)('clocks on the beats of real hearts', () => {
  test.each(['100', '105', '108', '119', '203', '208', '217', '222'])('record %s', name => {
    const record = JSON.parse(readFileSync(join(openData, `${name}.json`), 'utf8')) as { fs: number; beats: number[] };
    const random = randomFromNumber(Number(name));
    const offset = 600 * (2 * random.uniform() - 1);
    const drift = 200 * (2 * random.uniform() - 1);
    const times = record.beats.map(s => s / record.fs);
    const seen = () => random.uniform() > 0.2;
    const b = times.filter(seen).map(t => offset + (1 + drift * 1e-6) * t);
    const found = fitted(
      times.filter(seen),
      b.filter(t => t >= 0),
    );
    expect(Math.abs(found.offsetSeconds - offset)).toBeLessThan(0.005);
    expect(Math.abs(found.driftPpm - drift)).toBeLessThan(2);
  });
});
