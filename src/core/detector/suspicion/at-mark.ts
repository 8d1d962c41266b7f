import { covers, firstEndingAfter } from '../../marks/spans';
import { armSamples, peakedness } from '../peakedness';
import type { Context } from './context';
import { chanceOf, noneHere, toMilliseconds, usualOff } from './context';
import { offOfLikeBeats } from './like-beats';
import type { Finding } from './reasons';
import {
  amplitudeJump,
  baselineStep,
  besideGap,
  elsewhereFromMs,
  flatOrClipped,
  higherPeakBeside,
  highNoise,
  offThePeak,
  otherLeadElsewhere,
  secondDisagrees,
  secondDoubts,
  shortInterval,
  shortLongPair,
  unlikeShape,
} from './reasons';
import { type WavePlaces, waveBeside } from './wave-places';

/** Everything that speaks against mark i, strongest or not. */
export function findingsAtMark(context: Context, i: number): Finding[] {
  const out: Finding[] = [];
  const add = (finding: Finding | null) => {
    if (finding) out.push(finding);
  };
  intervalFindings(context, i, add);
  const { beats } = context;
  add(unlikeShape(beats.centredCorrelation[i]!, beats.usualCorrelation[i]!));
  add(offThePeak(beats.correlation[i]!, beats.shiftedCorrelation[i]!, toMilliseconds(context, beats.shift[i]!)));
  add(amplitudeJump(beats.amplitude[i]!, beats.usualAmplitude[i]!));
  add(opinionOn(context, i));
  add(doubtAt(context, i));
  add(rivalPeak(context, i));
  add(inOtherLeads(context, i));
  signalFindings(context, i, add);
  return out;
}

function intervalFindings(context: Context, i: number, add: (finding: Finding | null) => void): void {
  const { rr, usual, spread } = context.intervals;
  const expected = usual[i]!;
  if (expected === 0) return;
  const before = rr[i]! / expected;
  const after = (rr[i + 1] ?? 0) / expected;
  const shorter = before === 0 ? after : after === 0 ? before : Math.min(before, after);
  if (shorter > 0) add(shortInterval(shorter, spread[i]!));
  if (before > 0 && after > 0) add(shortLongPair(before, after, spread[i]!));
}

function opinionOn(context: Context, i: number): Finding | null {
  const { opinion, marks } = context;
  if (!opinion) return null;
  const inNoise = covers(context.secondUnsure, marks[i]!);
  const off = opinion.off[i]!;
  if (off === noneHere) return secondDisagrees(null, 0, { inNoise });
  const offMs = toMilliseconds(context, off);
  if (Math.abs(offMs) > aboutTolerance) return secondDisagrees(offMs, offMs, { inNoise });
  const usual = usualOff(opinion, i);
  const unusualMs = (by: number) => toMilliseconds(context, by - usual);
  if (Math.abs(offMs) > elsewhereFromMs) return secondDisagrees(offMs, unusualMs(off), { inNoise });
  const alike = offOfLikeBeats(context, opinion, i);
  if (alike === null || Math.abs(toMilliseconds(context, alike)) < elsewhereFromMs) return null;
  return secondDisagrees(toMilliseconds(context, alike), unusualMs(alike), { inNoise, likeBeats: true });
}

/** Up to this distance it matters whether the marks around lie as far from the second detector's beats. */
const aboutTolerance = 60;

function doubtAt(context: Context, i: number): Finding | null {
  const off = context.opinion?.off[i] ?? noneHere;
  return off === noneHere ? null : secondDoubts(chanceOf(context, context.marks[i]! + off));
}

/** What the other leads that show the beats here have in common: the nearest of their peaks. */
function inOtherLeads(context: Context, i: number): Finding | null {
  let nearest: Finding | null = null;
  for (const lead of context.features.others) {
    const off = offIn(context, lead, i);
    if (off === null) continue;
    const finding = otherLeadElsewhere(off);
    if (!finding) return null;
    if (followsMarks(context, lead, i) && (!nearest || finding.strength < nearest.strength)) nearest = finding;
  }
  return nearest;
}

/** How far from mark i another lead has its wave, in milliseconds. */
function offIn({ features, marks }: Context, lead: WavePlaces, i: number): number | null {
  const { cell, workingHz, factor } = features;
  const off = waveBeside(lead, Math.floor(marks[i]! / factor), cell, workingHz);
  return off === null ? null : (off * 1000) / workingHz;
}

/** Marks on either side beside which another lead has to have its waves. */
const followed = 8;
/** As much as their distances from these marks may vary (quartile deviation); in noise they lie anywhere. */
const mostSpreadMs = 45;

/** Whether a lead shows the beats around mark i: most of them, at about one distance from the marks. */
function followsMarks(context: Context, lead: WavePlaces, i: number): boolean {
  const from = Math.max(0, i - followed);
  const to = Math.min(context.marks.length - 1, i + followed);
  const offs: number[] = [];
  for (let k = from; k <= to; k++) {
    const off = offIn(context, lead, k);
    if (off !== null) offs.push(off);
  }
  if (offs.length <= (to - from + 1) / 2) return false;
  offs.sort((a, b) => a - b);
  const quartile = (q: number) => offs[Math.round(q * (offs.length - 1))]!;
  return (quartile(0.75) - quartile(0.25)) / 2 <= mostSpreadMs;
}

const rivalReachS = 0.13;
/** As near as this a peak is the mark's own. */
const ownReachS = 0.024;

/** The most peaked wave beside the one the mark is on, of either sign. */
function rivalPeak({ features, marks }: Context, i: number): Finding | null {
  const { working, workingHz, factor } = features;
  const arm = armSamples(workingHz);
  const at = Math.floor(marks[i]! / factor);
  const own = Math.round(ownReachS * workingHz);
  const reach = Math.round(rivalReachS * workingHz);
  let height = 0;
  let rival = 0;
  let rivalAt = 0;
  for (let k = Math.max(arm, at - reach); k <= Math.min(working.length - 1 - arm, at + reach); k++) {
    const p = Math.abs(peakedness(working, k, arm));
    if (Math.abs(k - at) <= own) height = Math.max(height, p);
    else if (p > rival && Math.abs(k - at) > own + 2) [rival, rivalAt] = [p, k];
  }
  return higherPeakBeside(height > 0 ? rival / height : 0, ((rivalAt - at) * 1000) / workingHz);
}

function signalFindings(context: Context, i: number, add: (finding: Finding | null) => void): void {
  const { features, marks, beats } = context;
  const c = Math.floor(marks[i]! / features.factor / features.cell);
  const height = beats.usualAmplitude[i]!;
  if (height > 0) {
    add(highNoise(quietest(features.highFrequency, c, 6) / height));
    add(
      baselineStep(
        Math.abs(meanOf(features.baseline, c + 2, c + 7) - meanOf(features.baseline, c - 6, c - 1)) / height,
      ),
    );
  }
  if (features.still[c] === 1) add(flatOrClipped('flat'));
  else if (features.still[c] === 2 && atLimit(context, c)) add(flatOrClipped('clipped'));
  const k = firstEndingAfter(context.gaps, marks[i]! - features.samplingRateHz);
  const gap = context.gaps[k];
  if (gap) {
    const away = Math.max(0, gap.start - marks[i]!, marks[i]! - gap.end) / features.samplingRateHz;
    add(besideGap(away));
  }
}

const near = new Float32Array(32);

/** Median of the cells around: a QRS fills fewer than half of them. */
function quietest(values: Float32Array, c: number, reach: number): number {
  let n = 0;
  for (let k = Math.max(0, c - reach); k < Math.min(values.length, c + reach + 1); k++) {
    let p = n++;
    for (; p > 0 && near[p - 1]! > values[k]!; p--) near[p] = near[p - 1]!;
    near[p] = values[k]!;
  }
  return near[n >> 1] ?? 0;
}

function meanOf(values: Float32Array, from: number, to: number): number {
  let sum = 0;
  let n = 0;
  for (let k = Math.max(0, from); k < Math.min(values.length, to); k++, n++) sum += values[k]!;
  return n > 0 ? sum / n : 0;
}

/** True when the signal stays at a value it never passes within a minute around. */
function atLimit(context: Context, c: number): boolean {
  const { highest, lowest } = context.features;
  const reach = 300;
  let high = true;
  let low = true;
  for (let k = Math.max(0, c - reach); k < Math.min(highest.length, c + reach); k++) {
    if (highest[k]! > highest[c]!) high = false;
    if (lowest[k]! < lowest[c]!) low = false;
  }
  return high || low;
}
