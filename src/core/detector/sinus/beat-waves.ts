import type { Marks } from '../../marks/markset';
import type { SignalFeatures } from '../suspicion/features';
import { type BeatRows, leadWeight, showsBeats } from './lead-weight';

/**
 * The waves around the reviewed marks, one row a beat and lead, as the difference of the means of 8 ms before and after
 * each step: without baseline wander, and mostly without mains and muscle noise. In mV, or of several leads in mV times the
 * lead's weight.
 */
export interface BeatWaves extends BeatRows {
  /** Of each lead, rows one after the other. */
  readonly leads: readonly Float32Array[];
}

const halfS = 0.3;
const meanS = 0.008;

/** A lead's samples; mV = (word - offset) * mvPerUnit. */
export interface LeadSignal {
  readonly features: SignalFeatures;
  readonly mvPerUnit: number;
}

/** The leads are of one rate and length. The first is kept, others only where beats can be seen in them. */
export function beatWaves(leads: readonly LeadSignal[], marks: Marks): BeatWaves {
  const { working, workingHz, factor } = leads[0]!.features;
  const middle = Math.round(halfS * workingHz);
  const width = 2 * middle + 1;
  const arm = Math.max(1, Math.round(meanS * workingHz));
  const whole = Uint8Array.from(marks, at => {
    const from = Math.floor(at / factor) - middle;
    return from - arm < 0 || from + width + arm > working.length ? 0 : 1;
  });
  const rows = { count: marks.length, width, middle, stepsPerSecond: workingHz, whole };
  const all = leads.map(lead => waveRows(lead, marks, rows, arm));
  const used = all.filter((values, i) => i === 0 || showsBeats(values, rows));
  if (used.length > 1) for (const values of used) multiply(values, leadWeight(values, rows));
  return { ...rows, leads: used };
}

function waveRows({ features, mvPerUnit }: LeadSignal, marks: Marks, { width, middle, whole }: BeatRows, arm: number) {
  const { working, factor } = features;
  const values = new Float32Array(marks.length * width);
  for (let k = 0; k < marks.length; k++) {
    if (whole[k] === 0) continue;
    const from = Math.floor(marks[k]! / factor) - middle;
    for (let i = 0, at = from; i < width; i++, at++) {
      let sum = 0;
      for (let j = 0; j < arm; j++) sum += working[at + j]! - working[at - 1 - j]!;
      values[k * width + i] = (sum / arm) * mvPerUnit;
    }
  }
  return values;
}

function multiply(values: Float32Array, by: number): void {
  for (let i = 0; i < values.length; i++) values[i]! *= by;
}

/** Where a row lies among the values of all: the step of its mark. */
export const middleOf = ({ width, middle }: BeatWaves, beat: number) => beat * width + middle;

/** The same waves put together again from their differences, in place, with a straight line taken off each row. */
export function levelWaves(waves: BeatWaves): BeatWaves {
  const { width } = waves;
  for (const values of waves.leads)
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
