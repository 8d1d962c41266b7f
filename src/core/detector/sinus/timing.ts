import type { Marks } from '../../marks/markset';
import { medianAt } from './local-median';

/** When each beat comes, beside the sinus-like beats around it. */
export interface Timing {
  /** Interval before and after each beat as a share of the usual one; 1 at an end. */
  readonly before: Float32Array;
  readonly after: Float32Array;
  /** Median deviation of the intervals between sinus-like beats around, as a share of the usual: 0.02 steady, 0.2 irregular. */
  readonly irregular: Float32Array;
}

const aroundBeats = 12;

/** `sinusLike`: 1 for beats whose intervals from the one before, when that is one too, are the usual ones. */
export function timing(marks: Marks, sinusLike: Uint8Array): Timing {
  const n = marks.length;
  const interval = (k: number) => marks[k]! - marks[k - 1]!;
  const usual: number[] = [];
  const places = new Int32Array(n);
  for (let k = 0; k < n; k++) {
    places[k] = usual.length;
    if (k > 0 && sinusLike[k] && sinusLike[k - 1]) usual.push(interval(k));
  }
  const intervals = Float32Array.from(usual);
  const median = Float32Array.from(places, at => medianAt(intervals, at, aroundBeats));
  const off = Float32Array.from(intervals);
  for (let k = 1, i = 0; k < n; k++)
    if (sinusLike[k] && sinusLike[k - 1]) off[i] = Math.abs(intervals[i++]! - median[k]!) / median[k]!;
  const share = (k: number, at: number) =>
    k > 0 && k < n && median[at]! > 0 ? (marks[k]! - marks[k - 1]!) / median[at]! : 1;
  return {
    before: Float32Array.from(marks, (_, k) => share(k, k)),
    after: Float32Array.from(marks, (_, k) => share(k + 1, k)),
    irregular: Float32Array.from(places, at => medianAt(off, at, aroundBeats)),
  };
}
