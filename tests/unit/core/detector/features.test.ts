import { describe, expect, test } from 'vitest';
import { createFeatureExtractor, signalFeatures } from '../../../../src/core/detector/suspicion/features';
import type { SampleArray } from '../../../../src/core/recording/recording';
import { regularBeats } from './pulses';

const { words } = regularBeats({ samplingRateHz: 1000, rrS: 0.8, seconds: 12 });
const big = Int32Array.from(words, w => w * 70_000);

function inPieces(all: SampleArray, size: number) {
  const extractor = createFeatureExtractor(1000);
  for (let at = 0; at < all.length; at += size) extractor.push(all.subarray(at, at + size) as SampleArray);
  return extractor.finish();
}

describe('features of a lead', () => {
  test.each([
    ['int16', words],
    ['int32 beyond what float32 holds exactly', big],
    ['float32', Float32Array.from(words, w => w / 7)],
  ] as const)('do not depend on the pieces they come in, and keep the kind of words: %s', (_name, all) => {
    const whole = signalFeatures(all, 1000);
    expect(whole.working.constructor).toBe(all.constructor);
    for (const size of [1, 3, 997]) expect(inPieces(all, size)).toEqual(whole);
  });

  test('hold the last value where a float is not a number', () => {
    const broken = Float32Array.from(words.subarray(0, 4000));
    broken.fill(Number.NaN, 0, 8);
    broken.fill(Number.POSITIVE_INFINITY, 2000, 2400);
    const { working } = signalFeatures(broken, 1000);
    expect([working[0], working[1]]).toEqual([0, 0]);
    expect(new Set(working.subarray(500, 600))).toEqual(new Set([working[499]]));
    expect(working.every(Number.isFinite)).toBe(true);
  });

  test('of nothing are empty', () => {
    const { working, still } = createFeatureExtractor(250).finish();
    expect([working.length, still.length]).toEqual([0, 0]);
  });
});
