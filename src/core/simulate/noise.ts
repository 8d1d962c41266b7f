import { bell, exp, sin } from '../elementary';
import { type Random, randomFrom } from '../random';
import type { Span } from '../units';
import { span } from '../units';
import { drawSteps, electrodeMotion, type Footstep } from './electrode-motion';

/**
 * What disturbs an ECG besides the heart, each over a known stretch: `baseline` wander, `muscle` noise, `motion` of the
 * electrode on the skin (slow waves that can look like a QRS), a `storm` of swings as quick and high as beats, `mains`
 * hum, the `steps` of a walking person as electrodes show them, and an electrode that came `off`.
 */
export type NoiseKind = 'baseline' | 'muscle' | 'motion' | 'storm' | 'mains' | 'steps' | 'off';

export interface NoiseSpec {
  readonly kind: NoiseKind;
  /** Seconds since the recording's first sample. */
  readonly fromSeconds: number;
  readonly toSeconds: number;
  /** Root mean square of muscle noise and steps; amplitude of the others; unused for `off`. */
  readonly levelMv: number;
  /** Positions of the leads it touches; all when absent. */
  readonly leads?: readonly number[];
  /** Stretches of `steps` that are louder: root mean square in each. */
  readonly louder?: readonly LouderStretch[];
  /** How a lead without its electrode looks. */
  readonly offLooks?: 'flat' | 'clipped' | 'drifting';
}

interface LouderStretch {
  readonly fromSeconds: number;
  readonly toSeconds: number;
  readonly levelMv: number;
}

export interface NoiseSpan extends Span {
  readonly kind: NoiseKind;
  readonly levelMv: number;
  readonly leads: readonly number[];
}

export interface NoiseSetting {
  readonly samplingRateHz: number;
  readonly mainsHz: number;
  /** The recorder clips at plus and minus this. */
  readonly fullScaleMv: number;
}

/** Adds the noise to the leads (mV) in place and returns where it went, louder stretches after the whole. */
export function addNoise(
  leads: readonly Float32Array[],
  spec: NoiseSpec,
  setting: NoiseSetting,
  seed: string,
): NoiseSpan[] {
  const length = leads[0]?.length ?? 0;
  const clip = (time: number) => Math.min(length, Math.max(0, Math.round(time * setting.samplingRateHz)));
  const place = (of: Pick<NoiseSpec, 'fromSeconds' | 'toSeconds'>) => span(clip(of.fromSeconds), clip(of.toSeconds));
  const where = place(spec);
  const touched = spec.leads ?? leads.map((_, i) => i);
  const events = randomFrom(`${seed}/events`);
  const swings = spec.kind === 'motion' || spec.kind === 'storm' ? swingsOf[spec.kind] : null;
  const bumps = swings ? drawBumps(where, setting.samplingRateHz, swings, events) : [];
  const seconds = (where.end - where.start) / setting.samplingRateHz;
  const steps = spec.kind === 'steps' ? drawSteps(seconds, events) : [];
  for (const i of touched) {
    const lead = leads[i];
    if (!lead) throw new RangeError(`noise names lead ${i}, which is not there`);
    const part = lead.subarray(where.start, where.end);
    const random = randomFrom(`${seed}/lead ${i}`);
    if (spec.kind === 'baseline') addBaseline(part, spec.levelMv, setting, random);
    else if (spec.kind === 'muscle') addMuscle(part, spec.levelMv, setting, random);
    else if (swings) addMotion(part, bumps, spec.levelMv, setting, random);
    else if (spec.kind === 'steps') addSteps(part, where.start, steps, spec, setting, random);
    else if (spec.kind === 'mains') addMains(part, spec.levelMv, setting, random);
    else replaceOff(part, spec.offLooks ?? 'flat', setting, random);
  }
  return [spec, ...(spec.louder ?? [])].map(one => ({
    ...place(one),
    kind: spec.kind,
    levelMv: one.levelMv,
    leads: touched,
  }));
}

/** 0 to 1 over the first and last 0.15 s, so that noise fades in and out. */
function fade(i: number, length: number, rateHz: number): number {
  return Math.min(1, (Math.min(i, length - 1 - i) + 1) / (0.15 * rateHz));
}

function addBaseline(part: Float32Array, levelMv: number, { samplingRateHz }: NoiseSetting, random: Random): void {
  const waves = [0.07, 0.13, 0.21, 0.34].map(hz => ({
    omega: (2 * Math.PI * hz * random.between(0.8, 1.2)) / samplingRateHz,
    phase: 2 * Math.PI * random.uniform(),
    share: random.between(0.3, 0.7),
  }));
  for (let i = 0; i < part.length; i++) {
    let sum = 0;
    for (const w of waves) sum += w.share * sin(w.omega * i + w.phase);
    part[i]! += levelMv * sum * fade(i, part.length, samplingRateHz);
  }
}

/** White noise with the slow part taken out, swelling and ebbing as muscles do. */
function addMuscle(part: Float32Array, levelMv: number, { samplingRateHz }: NoiseSetting, random: Random): void {
  const keep = exp((-2 * Math.PI * 12) / samplingRateHz);
  // RMS of what follows: of white noise less its slow part, and of the envelope.
  const gain = levelMv / (keep * Math.sqrt(2 / (1 + keep)) * 1.05);
  const swellKeep = exp(-1 / (0.4 * samplingRateHz));
  const swellStep = Math.sqrt(1 - swellKeep * swellKeep);
  let slow = 0;
  let swell = random.normal();
  for (let i = 0; i < part.length; i++) {
    const white = random.normal();
    slow = keep * slow + (1 - keep) * white;
    swell = swellKeep * swell + swellStep * random.normal();
    const envelope = Math.min(1.8, Math.max(0.4, 1 + 0.35 * swell));
    part[i]! += gain * envelope * (white - slow) * fade(i, part.length, samplingRateHz);
  }
}

interface Bump {
  readonly at: number;
  readonly width: number;
  readonly height: number;
  readonly step: number;
}

interface Swings {
  readonly apartSeconds: readonly [number, number];
  readonly widthSeconds: readonly [number, number];
}

/** Motion: about two slow swings a second. Storm: eight a second, as narrow as a QRS. */
const swingsOf: Record<'motion' | 'storm', Swings> = {
  motion: { apartSeconds: [0.25, 0.85], widthSeconds: [0.04, 0.13] },
  storm: { apartSeconds: [0.05, 0.2], widthSeconds: [0.008, 0.03] },
};

/** Disturbances of one stretch: each a single or double swing, and a step that creeps back. */
function drawBumps(where: Span, rateHz: number, swings: Swings, random: Random): Bump[] {
  const length = where.end - where.start;
  const bumps: Bump[] = [];
  for (let at = 0.2 * rateHz; at < length - 0.1 * rateHz; at += rateHz * random.between(...swings.apartSeconds)) {
    const sign = random.uniform() < 0.5 ? -1 : 1;
    bumps.push({
      at,
      width: rateHz * random.between(...swings.widthSeconds),
      height: sign * random.between(0.5, 1.3),
      step: 0.5 * random.normal(),
    });
  }
  return bumps;
}

function addMotion(
  part: Float32Array,
  bumps: readonly Bump[],
  levelMv: number,
  { samplingRateHz }: NoiseSetting,
  random: Random,
): void {
  const creep = exp(-1 / (0.5 * samplingRateHz));
  const gain = levelMv * random.between(0.7, 1.1);
  let offset = 0;
  for (let i = 0, b = 0; i < part.length; i++) {
    offset *= creep;
    while (b < bumps.length && bumps[b]!.at <= i) offset += bumps[b++]!.step;
    part[i]! += 0.6 * gain * offset * fade(i, part.length, samplingRateHz);
  }
  for (const { at, width, height } of bumps) {
    const double = random.uniform() < 0.4 ? -0.8 : 0;
    const from = Math.max(0, Math.ceil(at - 4 * width));
    const to = Math.min(part.length - 1, Math.floor(at + 7 * width));
    for (let i = from; i <= to; i++) {
      const swing = bell((i - at) / width) + double * bell((i - at - 2.2 * width) / width);
      part[i]! += gain * height * swing * fade(i, part.length, samplingRateHz);
    }
  }
}

function addSteps(
  part: Float32Array,
  start: number,
  steps: readonly Footstep[],
  { levelMv, louder = [] }: NoiseSpec,
  { samplingRateHz }: NoiseSetting,
  random: Random,
): void {
  const noise = electrodeMotion(part.length, samplingRateHz, steps, random);
  const level = new Float64Array(part.length).fill(levelMv);
  for (const one of louder) raise(level, start, one, samplingRateHz);
  for (let i = 0; i < part.length; i++) part[i]! += level[i]! * noise[i]! * fade(i, part.length, samplingRateHz);
}

/** Up to the level of a louder stretch and back, over a second at each end. */
function raise(level: Float64Array, start: number, louder: LouderStretch, rateHz: number): void {
  const from = Math.round(louder.fromSeconds * rateHz) - start;
  const to = Math.round(louder.toSeconds * rateHz) - start;
  for (let i = Math.max(0, from); i < Math.min(level.length, to); i++) {
    const share = Math.min(1, (Math.min(i - from, to - 1 - i) + 1) / rateHz);
    level[i] = Math.max(level[i]!, level[i]! + share * (louder.levelMv - level[i]!));
  }
}

function addMains(part: Float32Array, levelMv: number, setting: NoiseSetting, random: Random): void {
  const omega = (2 * Math.PI * setting.mainsHz) / setting.samplingRateHz;
  const phase = 2 * Math.PI * random.uniform();
  for (let i = 0; i < part.length; i++) {
    const hum = sin(omega * i + phase) + 0.15 * sin(3 * (omega * i + phase));
    part[i]! += levelMv * hum * fade(i, part.length, setting.samplingRateHz);
  }
}

function replaceOff(
  part: Float32Array,
  looks: 'flat' | 'clipped' | 'drifting',
  { samplingRateHz, fullScaleMv }: NoiseSetting,
  random: Random,
): void {
  const sign = random.uniform() < 0.5 ? -1 : 1;
  const held = part[0] ?? 0;
  const step = (0.5 * fullScaleMv) / Math.sqrt(samplingRateHz);
  let level = held;
  for (let i = 0; i < part.length; i++) {
    if (looks === 'flat') part[i] = held;
    else if (looks === 'clipped') part[i] = sign * 2 * fullScaleMv;
    else {
      level += step * random.normal() - (0.5 * level) / samplingRateHz;
      part[i] = level;
    }
  }
}
