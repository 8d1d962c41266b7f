import { exp, sin } from '../elementary';
import { type Random, randomFrom } from '../random';

/** What started a beat. Ectopic beats are real beats: right when marked on their R peak. */
export enum BeatClass {
  normal = 0,
  ventricular = 1,
  supraventricular = 2,
}

/** From `atSeconds` on, heart rate and breathing settle exponentially towards these values. */
export interface EffortStep {
  readonly atSeconds: number;
  readonly heartRateBpm: number;
  readonly breathsPerMinute: number;
  /** Time constant of settling: about 25 s on rising effort, 60 s in recovery (common practice). */
  readonly settlingSeconds: number;
}

export interface Variability {
  readonly lfMs: number;
  readonly hfMs: number;
  readonly driftMs: number;
}

export interface RhythmSpec {
  readonly durationSeconds: number;
  /** Sorted; the first one holds from the start. */
  readonly effort: readonly EffortStep[];
  /** Standard deviation of each part of RR variability at rest (67 bpm), in ms. It shrinks as the rate rises. */
  readonly variability: Variability;
  readonly ventricularPerMinute?: number;
  readonly supraventricularPerMinute?: number;
  readonly pausesPerMinute?: number;
}

/**
 * A resting adult: LF 1170 and HF 975 ms2, and a slow part that fills the total of 3466 ms2 (Task Force of the ESC and
 * NASPE, Circulation 1996;93:1043, table 3). SD = sqrt(power).
 */
export const restingVariability: Variability = { lfMs: 34, hfMs: 31, driftMs: 36 };

/** The heart's own time line, before any recorder saw it. */
export interface Heart {
  /** Nominal middle of each QRS main wave, s, increasing. */
  readonly times: Float64Array;
  /** Interval before each beat, s; the first has that of its rate. */
  readonly rrSeconds: Float64Array;
  /** BeatClass per beat. */
  readonly classes: Uint8Array;
  readonly body: BodyState;
}

/** Heart rate (bpm) and breathing on a grid of `gridHz`. */
export interface BodyState {
  readonly gridHz: number;
  readonly heartRateBpm: Float64Array;
  /** Radians, growing by 2 pi a breath. */
  readonly breathPhase: Float64Array;
}

const gridHz = 10;
const restingRr = 0.9;
const shortestRr = 0.28;

export function simulateHeart(spec: RhythmSpec, seed: string | number): Heart {
  const body = bodyState(spec, randomFrom(`${seed}/breath`));
  const intervalAt = sinusInterval(spec.variability, body, seed);
  const random = randomFrom(`${seed}/ectopic`);
  const beats: { time: number; interval: number; kind: BeatClass }[] = [];
  let time = 0.4;
  let sinceEvent = 0;
  beats.push({ time, interval: intervalAt(time), kind: BeatClass.normal });
  while (time < spec.durationSeconds) {
    const steps = nextSteps(spec, random, intervalAt(time), sinceEvent);
    sinceEvent = steps.length > 1 || steps[0]![1] !== BeatClass.normal ? 0 : sinceEvent + 1;
    for (const [interval, kind] of steps) {
      time += interval;
      if (time < spec.durationSeconds) beats.push({ time, interval, kind });
    }
  }
  return {
    times: Float64Array.from(beats, b => b.time),
    rrSeconds: Float64Array.from(beats, b => b.interval),
    classes: Uint8Array.from(beats, b => b.kind),
    body,
  };
}

/** Value of a grid of the body at a time, linearly interpolated, held at both ends. */
export function bodyAt(body: BodyState, grid: Float64Array, time: number): number {
  const x = Math.min(Math.max(time * body.gridHz, 0), grid.length - 1);
  const i = Math.min(Math.floor(x), grid.length - 2);
  return grid[i]! + (x - i) * (grid[i + 1]! - grid[i]!);
}

/**
 * The next beat, or an ectopic one and what follows it, as [interval s, class]. A ventricular beat comes early and is
 * followed by a full compensatory pause (both intervals add up to two normal ones); a supraventricular one resets the
 * sinus node, so its pause is short; a pause is one interval of about two (common practice).
 */
function nextSteps(spec: RhythmSpec, random: Random, rr: number, sinceEvent: number): [number, BeatClass][] {
  const draw = random.uniform() * 60;
  if (sinceEvent < 6 || rr < 0.45) return [[rr, BeatClass.normal]];
  let limit = (spec.ventricularPerMinute ?? 0) * rr;
  if (draw < limit) {
    const early = rr * random.between(0.58, 0.68);
    return [
      [early, BeatClass.ventricular],
      [2 * rr - early, BeatClass.normal],
    ];
  }
  limit += (spec.supraventricularPerMinute ?? 0) * rr;
  if (draw < limit) {
    return [
      [rr * random.between(0.64, 0.74), BeatClass.supraventricular],
      [rr * random.between(1.05, 1.15), BeatClass.normal],
    ];
  }
  limit += (spec.pausesPerMinute ?? 0) * rr;
  if (draw < limit) {
    return [
      [rr * random.between(1.8, 2.2), BeatClass.normal],
      [rr, BeatClass.normal],
    ];
  }
  return [[rr, BeatClass.normal]];
}

/** Sinus RR interval in s at a time: 60 / rate, plus LF around 0.1 Hz, breathing, and slow drift. */
function sinusInterval(variability: Variability, body: BodyState, seed: string | number): (time: number) => number {
  const lf = narrowBand(randomFrom(`${seed}/lf`), r => 0.095 + 0.012 * r.normal());
  const drift = narrowBand(randomFrom(`${seed}/drift`), r => 0.006 * exp(1.6 * r.uniform()));
  return time => {
    const mean = 60 / bodyAt(body, body.heartRateBpm, time);
    const breath = Math.SQRT2 * sin(bodyAt(body, body.breathPhase, time));
    const waves = variability.lfMs * lf(time) + variability.hfMs * breath + variability.driftMs * drift(time);
    return Math.max(shortestRr, mean + (shrinkage(mean) * waves) / 1000);
  };
}

/** How much of the resting variability is left at a mean RR of `rr` s: little in hard effort (common practice). */
function shrinkage(rr: number): number {
  const share = Math.min(1.1, Math.max(0, (rr - 0.3) / (restingRr - 0.3)));
  return Math.max(0.05, share * Math.sqrt(share));
}

/** A stationary process of unit standard deviation: sixteen sine waves of drawn frequency (Hz) and phase. */
function narrowBand(random: Random, drawHz: (random: Random) => number): (time: number) => number {
  const count = 16;
  const omega = Float64Array.from({ length: count }, () => 2 * Math.PI * drawHz(random));
  const phase = Float64Array.from({ length: count }, () => 2 * Math.PI * random.uniform());
  const amplitude = Math.sqrt(2 / count);
  return time => {
    let sum = 0;
    for (let i = 0; i < count; i++) sum += sin(omega[i]! * time + phase[i]!);
    return amplitude * sum;
  };
}

function bodyState(spec: RhythmSpec, random: Random): BodyState {
  const first = spec.effort[0];
  if (!first) throw new RangeError('a rhythm needs at least one effort step');
  const length = Math.ceil(spec.durationSeconds * gridHz) + 2 * gridHz;
  const heartRateBpm = new Float64Array(length);
  const breathPhase = new Float64Array(length);
  let rate = first.heartRateBpm;
  let breaths = first.breathsPerMinute;
  let wander = 0;
  let phase = 2 * Math.PI * random.uniform();
  for (let i = 0, step = 0; i < length; i++) {
    while (step + 1 < spec.effort.length && spec.effort[step + 1]!.atSeconds * gridHz <= i) step++;
    const goal = spec.effort[step]!;
    const share = Math.min(1, 1 / (goal.settlingSeconds * gridHz));
    rate += (goal.heartRateBpm - rate) * share;
    breaths += (goal.breathsPerMinute - breaths) * share;
    wander += (-wander / 20 + 0.25 * random.normal()) / gridHz;
    heartRateBpm[i] = rate;
    breathPhase[i] = phase;
    phase += (2 * Math.PI * breaths * (1 + 0.3 * wander)) / 60 / gridHz;
  }
  return { gridHz, heartRateBpm, breathPhase };
}
