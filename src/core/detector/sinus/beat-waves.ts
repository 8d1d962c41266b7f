import type { Marks } from '../../marks/markset';
import type { SignalFeatures } from '../suspicion/features';

/**
 * The waves around the reviewed marks, one row a beat, as the difference of the means of 8 ms before and after each step:
 * without baseline wander, and mostly without mains and muscle noise.
 */
export interface BeatWaves {
  readonly count: number;
  /** Steps of a row; the mark is at `middle`. */
  readonly width: number;
  readonly middle: number;
  readonly stepsPerSecond: number;
  /** Rows one after the other. */
  readonly values: Float32Array;
  /** 1 where the whole row lies in the recording. */
  readonly whole: Uint8Array;
}

const halfS = 0.3;
const meanS = 0.008;

export function beatWaves(features: SignalFeatures, marks: Marks): BeatWaves {
  const { working, workingHz, factor } = features;
  const middle = Math.round(halfS * workingHz);
  const width = 2 * middle + 1;
  const arm = Math.max(1, Math.round(meanS * workingHz));
  const values = new Float32Array(marks.length * width);
  const whole = new Uint8Array(marks.length);
  for (let k = 0; k < marks.length; k++) {
    const from = Math.floor(marks[k]! / factor) - middle;
    if (from - arm < 0 || from + width + arm > working.length) continue;
    whole[k] = 1;
    for (let i = 0, at = from; i < width; i++, at++) {
      let sum = 0;
      for (let j = 0; j < arm; j++) sum += working[at + j]! - working[at - 1 - j]!;
      values[k * width + i] = sum / arm;
    }
  }
  return { count: marks.length, width, middle, stepsPerSecond: workingHz, values, whole };
}

/** Where a row lies among the values of all: the step of its mark. */
export const middleOf = ({ width, middle }: BeatWaves, beat: number) => beat * width + middle;

/** The same waves put together again from their differences, in place, with a straight line taken off each row. */
export function levelWaves(waves: BeatWaves): BeatWaves {
  const { width, values } = waves;
  for (let k = 0; k < waves.count; k++) {
    const row = values.subarray(k * width, (k + 1) * width);
    let level = 0;
    for (let j = 0; j < width; j++) row[j] = level += row[j]!;
    takeOffLine(row);
  }
  return waves;
}

/** Takes the straight line off that fits best. */
export function takeOffLine(values: Float32Array): void {
  const middle = (values.length - 1) / 2;
  let mean = 0;
  let slope = 0;
  let squares = 0;
  for (let j = 0; j < values.length; j++) {
    mean += values[j]! / values.length;
    slope += values[j]! * (j - middle);
    squares += (j - middle) ** 2;
  }
  for (let j = 0; j < values.length; j++) values[j]! -= mean + (slope / squares) * (j - middle);
}
