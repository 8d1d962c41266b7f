import { rangeOf } from '../moments';

/**
 * How far the line of a lead jumps: an electrode that moves or an amplifier that was blocked shifts it by more than a beat
 * is high, and it does not come back for seconds. After a beat it does, but for the T wave. Common practice.
 */
const besideS = 0.08;
const overS = 0.16;
/** The usual range of the line is the third lowest of ten stretches, over as many on either side. */
const around = 4;
const lowShare = 0.3;

/**
 * Per stretch of `stretch` working samples, the largest jump of the line in it over the usual range of such stretches around it:
 * the mean of 0.16 s, 0.08 s after a place, against the same before it. 0 where the line does not move at all.
 */
export function jumpsOf(x: Float32Array, n: number, workingHz: number, stretch: number): Float32Array {
  const count = Math.max(1, Math.ceil(n / stretch));
  const jumps = largestJumps(x, n, workingHz, stretch, count);
  const ranges = new Float32Array(count);
  for (let s = 0; s < count; s++) {
    const { low, high } = rangeOf(x.subarray(s * stretch, Math.min(n, (s + 1) * stretch)));
    ranges[s] = Math.max(0, high - low);
  }
  return jumps.map((jump, s) => {
    const near = ranges.slice(Math.max(0, s - around), s + around + 1).sort();
    const usual = near[Math.floor(lowShare * near.length)]!;
    return usual > 0 ? jump / usual : 0;
  });
}

function largestJumps(x: Float32Array, n: number, workingHz: number, stretch: number, count: number): Float32Array {
  const beside = Math.round(besideS * workingHz);
  const over = Math.round(overS * workingHz);
  const out = new Float32Array(count);
  let step = 0;
  const first = beside + over;
  if (n <= 2 * first) return out;
  for (let k = 0; k < over; k++) step += x[first + beside + k]! - x[k]!;
  for (let i = first; ; i++) {
    const s = Math.floor(i / stretch);
    out[s] = Math.max(out[s]!, Math.abs(step) / over);
    if (i + first >= n) return out;
    step += x[i + first]! - x[i + beside]! - x[i - beside]! + x[i - first]!;
  }
}
