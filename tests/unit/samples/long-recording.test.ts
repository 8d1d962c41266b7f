import { expect, test } from 'vitest';
import { longRecording } from '../../bench/long-recording';

test('a long recording reads the same in pieces as whole, and its beats are peaks an ordinary interval apart', () => {
  const { recording, leads, beats } = longRecording(0.5, 250, 2, 'seams');
  const whole = leads[0]!.read(0, recording.sampleCount) as Int16Array;
  expect(whole.length).toBe(450_000);
  for (let at = 0; at < whole.length; at += 9973) {
    expect(leads[0]!.read(at, at + 9973)).toEqual(whole.subarray(at, at + 9973));
  }
  expect(beats.length).toBeGreaterThan(30 * 48);
  for (let k = 1; k < beats.length; k++) {
    const rr = (beats[k]! - beats[k - 1]!) / 250;
    // Midnight hour at 52 bpm; the longest is a compensatory pause.
    expect(rr).toBeGreaterThan(0.55);
    expect(rr).toBeLessThan(2);
    const around = whole.subarray(beats[k]! - 25, beats[k]! + 26);
    expect(Math.max(...around) - whole[beats[k]!]!).toBeLessThan(60);
  }
});
