import { mean } from '../moments';
import { medianAround } from './selection';
import type { WindowBeats } from './window';
import type { WindowBeat } from './window-beat';

/** Waves nearer than this to a beat are other guesses at its place (window of ANSI/AAMI EC57). */
const samePlaceS = 0.15;
/** Doubt is gathered in cells of this length and judged over this many of them, the cell in the middle. */
const cellS = 1;
const aroundCells = 1;
/** Doubtful stretches with less than this between them are one. */
const joinS = 2;
/** A wave of this many times the beats' energy is an artefact under which a beat cannot be told. */
const artefactTimes = 6;

/**
 * An interval of this many times the usual one around it has beats missing as likely as not: pauses are seldom so long,
 * and a line that swings away after a jolt shows none. Common practice.
 */
const longTimes = 2.5;
const missingShare = 0.5;
/** Intervals on either side that make the usual one. */
const neighbours = 8;

/** How likely it is that each beat is one, when other guesses at its place are counted in. */
export function certainties(beats: readonly WindowBeat[], others: readonly WindowBeat[], workingHz: number): number[] {
  const near = samePlaceS * workingHz;
  const out = beats.map(b => b.probability);
  let k = 0;
  for (const other of others) {
    while (k + 1 < beats.length && Math.abs(beats[k + 1]!.at - other.at) <= Math.abs(beats[k]!.at - other.at)) k++;
    if (k < beats.length && Math.abs(beats[k]!.at - other.at) <= near)
      out[k] = Math.min(1, out[k]! + other.probability);
  }
  return out;
}

/**
 * Stretches of a window of `n` working samples, as [start, end) pairs, in which more than `most` mistakes are to be
 * expected in three seconds, by how `sure` each beat is (`certainties`): beats that are none, by the probability that they
 * are not, and waves passed over, by the probability that they are beats.
 */
export function doubtfulStretches(
  found: WindowBeats,
  sure: readonly number[],
  n: number,
  workingHz: number,
  most: number,
): number[] {
  const cell = Math.round(cellS * workingHz);
  const mistakes = expectedMistakes(found, sure, n, workingHz, cell);
  const out: number[] = [];
  for (let g = 0; g < mistakes.length; g++) {
    let sum = 0;
    for (let k = Math.max(0, g - aroundCells); k <= Math.min(mistakes.length - 1, g + aroundCells); k++)
      sum += mistakes[k]!;
    if (sum <= most) continue;
    if (out.length > 0 && g * cell - out.at(-1)! < joinS * workingHz) out[out.length - 1] = (g + 1) * cell;
    else out.push(g * cell, (g + 1) * cell);
  }
  return out;
}

function expectedMistakes(
  found: WindowBeats,
  sure: readonly number[],
  n: number,
  workingHz: number,
  cell: number,
): Float64Array {
  const { beats, others, candidates, level, levelCell } = found;
  const out = new Float64Array(Math.max(1, Math.ceil(n / cell)));
  const add = (at: number, value: number) => {
    out[Math.min(out.length - 1, Math.floor(at / cell))]! += value;
  };
  for (const [k, b] of beats.entries()) add(b.at, 1 - sure[k]!);
  let k = 0;
  for (const other of others) {
    while (k + 1 < beats.length && Math.abs(beats[k + 1]!.at - other.at) <= Math.abs(beats[k]!.at - other.at)) k++;
    if (k >= beats.length || Math.abs(beats[k]!.at - other.at) > samePlaceS * workingHz)
      add(other.at, other.probability);
  }
  for (let i = 0; i < candidates.count; i++)
    if (candidates.energy[i]! > artefactTimes * level[Math.floor(candidates.at[i]! / levelCell)]!)
      add(candidates.at[i]!, 1);
  addPauses(
    beats.map(b => b.at),
    cell,
    add,
  );
  return out;
}

/** Beats that may be missing in intervals far longer than those around them, spread over the interval. */
function addPauses(at: readonly number[], cell: number, add: (at: number, mistakes: number) => void): void {
  if (at.length < 2) return;
  const intervals = new Float32Array(at.length - 1);
  for (let k = 0; k < intervals.length; k++) intervals[k] = at[k + 1]! - at[k]!;
  // An interval that is hardly longer than the mean is no pause: most need not be held against their neighbours.
  const least = longTimes * 0.5 * mean(intervals);
  for (let k = 0; k < intervals.length; k++) {
    if (intervals[k]! <= least) continue;
    const usual = medianAround(intervals, k, neighbours);
    if (intervals[k]! <= longTimes * usual) continue;
    for (let t = at[k]! + cell / 2; t < at[k + 1]!; t += cell) add(t, (missingShare * cell) / usual);
  }
}
