import { expect, test } from 'vitest';
import { exp } from '../../../../src/core/elementary';
import { randomFrom } from '../../../../src/core/random';
import { simulateEcg } from '../../../../src/core/simulate/ecg';
import { addNoise } from '../../../../src/core/simulate/noise';
import { simulateHeart } from '../../../../src/core/simulate/rhythm';
import { plainShape } from '../../../../src/core/simulate/waveform';

const rhythm = {
  durationSeconds: 10,
  effort: [{ atSeconds: 0, heartRateBpm: 60, breathsPerMinute: 12, settlingSeconds: 30 }],
  variability: { lfMs: 0, hfMs: 0, driftMs: 0 },
};
const setting = { samplingRateHz: 500, mainsHz: 50, fullScaleMv: 5 };

test('what cannot be simulated is refused', () => {
  const recorder = { ...setting, durationSeconds: 10, leads: [], mvPerUnit: 0.005, floorMv: 0, startSeconds: 0 };
  expect(() =>
    simulateEcg({ rhythm, shape: plainShape, recorder: { ...recorder, driftPpm: 0, noise: [] } }, 1),
  ).toThrow('at least one lead');
  expect(() => simulateHeart({ ...rhythm, effort: [] }, 'x')).toThrow('at least one effort step');
  expect(() => randomFrom('x').pick([])).toThrow(RangeError);
  const noise = { kind: 'mains', fromSeconds: 0, toSeconds: 1, levelMv: 0.1, leads: [1] } as const;
  expect(() => addNoise([new Float32Array(500)], noise, setting, 'x')).toThrow('lead 1');
});

test('mains noise has its frequency, its level and a third harmonic, inside its stretch alone', () => {
  const lead = new Float32Array(5000);
  addNoise([lead], { kind: 'mains', fromSeconds: 2, toSeconds: 8, levelMv: 0.2 }, setting, 'hum');
  expect(lead.subarray(0, 1000).every(v => v === 0) && lead.subarray(4000).every(v => v === 0)).toBe(true);
  // Amplitude at a frequency over whole periods away from the ends.
  const amplitude = (hz: number) => {
    let [re, im] = [0, 0];
    for (let i = 1500; i < 3500; i++) {
      re += lead[i]! * Math.cos((2 * Math.PI * hz * i) / 500);
      im += lead[i]! * Math.sin((2 * Math.PI * hz * i) / 500);
    }
    return Math.hypot(re, im) / 1000;
  };
  expect(amplitude(50)).toBeCloseTo(0.2, 3);
  expect(amplitude(150)).toBeCloseTo(0.03, 3);
  expect(amplitude(60)).toBeCloseTo(0, 3);
});

test('noise of no lead touches nothing', () => {
  expect(addNoise([], { kind: 'muscle', fromSeconds: 0, toSeconds: 1, levelMv: 1 }, setting, 'x')).toMatchObject([
    { start: 0, end: 0 },
  ]);
});

test('the exponential of far below is 0', () => {
  expect([exp(-61), exp(-800)]).toEqual([0, 0]);
  expect(exp(-60) / Math.exp(-60)).toBeCloseTo(1, 12);
});
