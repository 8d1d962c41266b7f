import { describe, expect, test } from 'vitest';
import {
  amplitudeJump,
  baselineStep,
  besideGap,
  higherPeakBeside,
  highNoise,
  longInterval,
  offThePeak,
  secondDisagrees,
  secondDoubts,
  secondFindsMore,
  shortInterval,
  shortLongPair,
  strengthOf,
  unlikeShape,
} from '../../../../src/core/detector/suspicion/reasons';

describe('reasons (source: definitions of this project, artefact classes of Lipponen & Tarvainen 2019)', () => {
  test('strength grows from 0 towards 1', () => {
    expect(strengthOf(0)).toBe(0);
    expect(strengthOf(-1)).toBe(0);
    expect(strengthOf(2)).toBeCloseTo(0.632, 3);
    expect(strengthOf(10)).toBeCloseTo(1, 6);
  });

  test('an interval nearly twice its neighbours says a beat may be missing', () => {
    const found = longInterval(1.9, 0.03);
    expect(found?.sentence).toBe('interval is 1.9 times its neighbours: a beat may be missing');
    expect(found?.strength).toBeGreaterThan(0.9);
    expect(longInterval(4.1, 0.03)?.sentence).toBe('interval is 4.1 times its neighbours: 3 beats may be missing');
    expect(longInterval(1.1, 0.03)).toBeNull();
    expect(longInterval(1.9, 0.03)?.reason).toBe('multiple interval');
    expect(longInterval(1.5, 0.03)?.reason).toBe('long interval');
    expect(longInterval(1.9, 0.3)?.reason).toBe('long interval');
  });

  test('the same long interval counts less in an irregular rhythm', () => {
    expect(longInterval(1.9, 0.3)!.strength).toBeLessThan(longInterval(1.9, 0.03)!.strength);
  });

  test('short intervals and short-long pairs', () => {
    expect(shortInterval(0.45, 0.03)?.strength).toBeGreaterThan(0.9);
    expect(shortInterval(0.95, 0.03)).toBeNull();
    expect(shortLongPair(0.7, 1.3, 0.03)?.sentence).toContain('short, then long');
    expect(shortLongPair(1.3, 0.7, 0.03)?.sentence).toContain('long, then short');
    expect(shortLongPair(0.7, 0.7, 0.03)).toBeNull();
    expect(shortLongPair(1, 1, 0.03)).toBeNull();
  });

  test('shape, amplitude and place on the peak', () => {
    expect(unlikeShape(0.3, 0.98)?.strength).toBeGreaterThan(0.9);
    expect(unlikeShape(0.95, 0.98)).toBeNull();
    expect(offThePeak(0.4, 0.97, -70)?.sentence).toContain('70 ms earlier');
    expect(offThePeak(0.95, 0.97, -70)).toBeNull();
    expect(offThePeak(0.4, 0.97, 8)).toBeNull();
    expect(amplitudeJump(40, 200)?.sentence).toContain('0.20 times');
    expect(amplitudeJump(190, 200)).toBeNull();
    expect(amplitudeJump(40, 0)).toBeNull();
  });

  test('a long interval that makes up for a short one before it is told apart', () => {
    expect(longInterval(1.4, 0.03, 0.6)?.reason).toBe('pause after an early beat');
    expect(longInterval(1.4, 0.03, 0.6)?.sentence).toContain('after one of 0.6 times');
    expect(longInterval(1.4, 0.03, 1)?.reason).toBe('long interval');
    expect(longInterval(2, 0.03, 0.6)?.reason).toBe('multiple interval');
  });

  test('a sharper peak beside the mark', () => {
    expect(higherPeakBeside(1.8, -60)?.sentence).toBe(
      '60 ms earlier is a peak 1.8 times as sharp: the mark may be on the wrong wave',
    );
    expect(higherPeakBeside(0.5, 60)).toBeNull();
    expect(higherPeakBeside(Number.NaN, 60)).toBeNull();
    expect(higherPeakBeside(0.8, 60)!.strength).toBeLessThan(higherPeakBeside(1.2, 60)!.strength);
  });

  test('an opinion from where the second detector is unsure is a reason of its own', () => {
    expect(secondDisagrees(null, 0, { inNoise: true })?.reason).toBe('in noise: none here');
    expect(secondDisagrees(80, 80, { inNoise: true })?.sentence).toContain('where it is unsure');
    expect(secondFindsMore(0.9, 0.5, true).reason).toBe('in noise: one more');
  });

  test('noise, baseline and gaps', () => {
    expect(highNoise(0.2)?.strength).toBeGreaterThan(0.9);
    expect(highNoise(0.005)).toBeNull();
    expect(baselineStep(1.5)?.strength).toBeGreaterThan(0.6);
    expect(baselineStep(0.1)).toBeNull();
    expect(besideGap(0.2)?.strength).toBeGreaterThan(0.8);
    expect(besideGap(3)).toBeNull();
  });

  test('the second detector, graded by distance and room', () => {
    expect(secondDisagrees(null)?.sentence).toBe('the second detector finds no beat here');
    expect(secondDisagrees(-120)?.sentence).toContain('120 ms earlier');
    expect(secondDisagrees(200)!.strength).toBeGreaterThan(secondDisagrees(55)!.strength);
    expect(secondFindsMore(0.9, 0.5, false, 1, 3).sentence).toBe(
      'the second detector finds 3 beats here that have no marks (correlation of the first with its neighbours 0.90)',
    );
    expect(secondFindsMore(0.9, 0.5).strength).toBeGreaterThan(secondFindsMore(0.9, 0.1).strength);
  });

  test('within the tolerance the second detector counts by how unlike the marks around it lies', () => {
    expect(secondDisagrees(-45)!.strength).toBeLessThan(secondDisagrees(-80)!.strength);
    expect(secondDisagrees(-45, -8)).toBeNull();
    expect(secondDisagrees(20)).toBeNull();
    expect(secondDisagrees(-45, -45, { likeBeats: true })?.sentence).toBe(
      'the second detector puts beats like this one 45 ms earlier',
    );
  });

  test('the less sure the second detector is of a beat, the more it says', () => {
    expect(secondDoubts(1)).toBeNull();
    expect(secondDoubts(0.99)).toBeNull();
    expect(secondDoubts(0.8)?.sentence).toBe('the second detector is only 80 % sure of a beat here');
    expect(secondDoubts(0.6)!.strength).toBeGreaterThan(secondDoubts(0.9)!.strength);
    expect(secondDoubts(0)!.strength).toBe(1);
    expect(secondFindsMore(0.9, 0.5, false, 0.6).strength).toBeLessThan(secondFindsMore(0.9, 0.5).strength);
    expect(secondFindsMore(0.9, 0.5, false, 0).strength).toBeGreaterThan(0);
  });
});
