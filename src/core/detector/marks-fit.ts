import type { Marks } from '../marks/markset';

/** What would bring marks onto beats. */
export interface Remedy {
  /** Rate at which the sample indices were counted; null when that of the signal fits. */
  readonly rateHz: number | null;
  /** To be added to each mark; 0 when none is needed. */
  readonly shiftSeconds: number;
  /** Share of marks within the tolerance then, or of the beats between the first and the last, whichever is less. */
  readonly overlap: number;
}

/** How a list of marks lies on the beats that the built-in detector finds in the signal. */
export interface MarksFit {
  /** Share of marks within 50 ms of a found beat. */
  readonly overlap: number;
  /** Null when marks and beats overlap by half or more, or nothing tried makes them. */
  readonly remedy: Remedy | null;
  /** Nearly every mark is exactly one sample after the peak, as where samples count from 1. */
  readonly fromOne: boolean;
}

const toleranceSeconds = 0.05;
const longestShiftSeconds = 30;
const leastOverlap = 0.5;

/** Rates that recorders have (common practice). */
export const usualRates = [100, 125, 128, 130, 200, 250, 256, 300, 360, 400, 500, 512, 1000, 1024, 2000];

/** At least 20 marks and beats are needed, else null. Marks and beats are samples at `samplingRateHz`. */
export function fitMarks(marks: Marks, beats: Marks, samplingRateHz: number): MarksFit | null {
  if (marks.length < 20 || beats.length < 20) return null;
  const times = Array.from(marks.subarray(0, 3000), m => m / samplingRateHz);
  const found = Array.from(beats, b => b / samplingRateHz);
  const overlap = overlapOf(times, found, 1, 0);
  const fits = overlap >= leastOverlap;
  return {
    overlap,
    remedy: fits ? null : bestRemedy(times, found, samplingRateHz, overlap),
    fromOne: fits && oneAfter(marks, beats),
  };
}

/** In words, for the person; null when there is nothing to say. */
export function fitDoubt(fit: MarksFit, samplingRateHz: number): string | null {
  const percent = (share: number) => `${Math.round(100 * share)} %`;
  if (fit.fromOne) return 'Nearly every mark lies exactly one sample after its peak: do the samples count from 1?';
  if (fit.overlap >= leastOverlap) return null;
  const says = `Only ${percent(fit.overlap)} of the marks lie within 50 ms of a beat that the built-in detector finds.`;
  if (!fit.remedy) return `${says} Are they marks of this recording?`;
  const { rateHz, shiftSeconds, overlap } = fit.remedy;
  const parts = [
    ...(rateHz === null ? [] : [`were counted at ${rateHz} Hz, not ${samplingRateHz} Hz`]),
    ...(shiftSeconds === 0 ? [] : [`are moved by ${shiftSeconds > 0 ? '+' : ''}${shiftSeconds.toFixed(2)} s`]),
  ];
  return `${says} If they ${parts.join(' and ')}, ${percent(overlap)} do.`;
}

function bestRemedy(times: readonly number[], beats: readonly number[], hz: number, now: number): Remedy | null {
  let best: Remedy | null = null;
  const better = (r: Remedy) => r.overlap > (best?.overlap ?? Math.max(0.7, now + 0.3)) + (best ? 0.05 : 0);
  for (const rateHz of [null, ...usualRates.filter(r => r !== hz)]) {
    const scale = rateHz === null ? 1 : hz / rateHz;
    for (const shiftSeconds of [0, bestShift(times, beats, scale)]) {
      const remedy = { rateHz, shiftSeconds, overlap: mutualOverlap(times, beats, scale, shiftSeconds) };
      if (better(remedy)) best = remedy;
    }
  }
  return best;
}

/** As `overlapOf`, and no more than the share of beats that have a mark: every second beat is not enough. */
function mutualOverlap(times: readonly number[], beats: readonly number[], scale: number, shift: number): number {
  const first = times[0]! * scale + shift - toleranceSeconds;
  const last = times.at(-1)! * scale + shift + toleranceSeconds;
  const between = beats.filter(b => b >= first && b <= last).length;
  return overlapOf(times, beats, scale, shift) * Math.min(1, times.length / Math.max(1, between));
}

/** Share of marks, scaled and shifted, within the tolerance of a beat; those outside the beats' stretch count against it. */
function overlapOf(times: readonly number[], beats: readonly number[], scale: number, shift: number): number {
  let at = 0;
  let near = 0;
  for (const time of times) {
    const t = time * scale + shift;
    while (at < beats.length - 1 && beats[at]! < t - toleranceSeconds) at++;
    if (Math.abs(beats[at]! - t) <= toleranceSeconds) near++;
  }
  return near / times.length;
}

/** The most common distance from a mark to a beat, to 10 ms; of equally common ones the smallest. */
function bestShift(times: readonly number[], beats: readonly number[], scale: number): number {
  const half = longestShiftSeconds * 100;
  const bins = new Float64Array(2 * half + 1);
  let first = 0;
  for (const time of times.slice(0, 1000)) {
    const t = time * scale;
    while (first < beats.length && beats[first]! < t - longestShiftSeconds) first++;
    for (let b = first; b < beats.length && beats[b]! <= t + longestShiftSeconds; b++) {
      bins[Math.round((beats[b]! - t) * 100) + half]! += 1;
    }
  }
  let best = half;
  const weight = (i: number) => (bins[i - 1] ?? 0) + 2 * bins[i]! + (bins[i + 1] ?? 0);
  for (let d = 1; d <= half; d++) {
    for (const i of [half + d, half - d]) if (weight(i) > 1.1 * weight(best)) best = i;
  }
  return (best - half) / 100;
}

/** Four of five marks that have a beat within two samples have it one sample before. */
function oneAfter(marks: Marks, beats: Marks): boolean {
  let at = 0;
  let near = 0;
  let one = 0;
  for (const m of marks) {
    while (at < beats.length - 1 && beats[at]! < m - 2) at++;
    const off = m - beats[at]!;
    if (Math.abs(off) <= 2) near++;
    if (off === 1) one++;
  }
  return near >= 0.5 * marks.length && one >= 0.8 * near;
}
