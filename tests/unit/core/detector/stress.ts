import { sin } from '../../../../src/core/elementary';
import { type Random, randomFrom } from '../../../../src/core/random';
import { addWave } from '../../../../src/core/simulate/waveform';

/**
 * Simulated recordings of what is hard for a beat detector: rhythms, shapes of beats and disturbances that long
 * recordings hold (shapes and timings after textbooks: common practice).
 */
interface Bell {
  /** Middle, s after the beat's; or after the start of the recording, for a wave that belongs to no beat. */
  readonly at: number;
  /** Standard deviation, s. */
  readonly width: number;
  readonly mv: number;
  /** Time and width scale with the square root of the RR interval. */
  readonly followsRr?: boolean;
}

interface Beat {
  readonly at: number;
  /** Interval before it, s. */
  readonly rr: number;
  readonly waves: readonly Bell[];
}

interface Scene {
  readonly beats: readonly Beat[];
  readonly loose?: readonly Bell[];
  /** What lies under the beats, mV at a time in s. */
  readonly under?: (t: number) => number;
  /** Standard deviation of noise at a time, mV. */
  readonly noiseMv?: (t: number) => number;
}

export interface StressRecording {
  readonly words: Int16Array;
  readonly beats: Int32Array;
}

const seconds = 60;

interface Shape {
  readonly r?: number;
  readonly p?: number;
  readonly t?: number;
  readonly tWidth?: number;
  readonly rWidth?: number;
  readonly s?: number;
}

const normal = ({ r = 1, p = 0.12, t = 0.25, tWidth = 0.045, rWidth = 0.011, s = -0.2 }: Shape = {}): Bell[] => [
  { at: -0.16, width: 0.024, mv: p, followsRr: true },
  { at: -0.022, width: 0.008, mv: -0.1 * r },
  { at: 0, width: rWidth, mv: r },
  { at: 0.026, width: 0.01, mv: s * r },
  { at: 0.29, width: tWidth, mv: t, followsRr: true },
];
const bells = (...rows: readonly (readonly [number, number, number])[]): Bell[] =>
  rows.map(([at, width, mv]) => ({ at, width, mv }));
const ectopicUp = (a: number) => bells([0, 0.03, 1.6 * a], [0.09, 0.03, -0.7 * a], [0.3, 0.065, -0.6 * a]);
const ectopicDown = (a: number) => bells([-0.05, 0.012, 0.25 * a], [0, 0.028, -1.5 * a], [0.22, 0.055, 0.8 * a]);
const leftBlock = bells([-0.18, 0.025, 0.12], [-0.02, 0.018, 0.8], [0.045, 0.02, 0.85], [0.3, 0.06, -0.4]);
const rightBlock = bells([-0.17, 0.025, 0.12], [-0.01, 0.011, 0.9], [0.05, 0.03, -0.5], [0.3, 0.05, 0.3]);
const preExcited = bells(
  [-0.13, 0.024, 0.12],
  [-0.04, 0.02, 0.3],
  [0, 0.011, 1],
  [0.026, 0.01, -0.2],
  [0.29, 0.05, -0.25],
);
const paced = (spikeMv: number, atrialMv: number) =>
  bells(
    [-0.21, 0.0025, atrialMv],
    [-0.17, 0.028, atrialMv > 0 ? 0.1 : 0],
    [-0.055, 0.0025, spikeMv],
    [0, 0.03, 1],
    [0.08, 0.03, 0.5],
    [0.32, 0.065, -0.6],
  );

/** Beats whose interval and waves may depend on their number and time. */
function train(r: Random, rr: (t: number) => number, waves: (k: number, t: number) => readonly Bell[]): Beat[] {
  const out: Beat[] = [];
  for (let t = 0.4, k = 0; ; k++) {
    const interval = rr(t) * (1 + 0.02 * r.normal());
    t += interval;
    if (t > seconds - 0.6) return out;
    out.push({ at: t, rr: interval, waves: waves(k, t) });
  }
}

/** Normal beats, each followed by `run(k)` early ectopic ones and then a pause. */
function ectopics(r: Random, base: readonly Bell[], odd: () => readonly Bell[], run: (k: number) => number): Beat[] {
  const out: Beat[] = [];
  for (let t = 0.4, k = 0; t < seconds - 4; k++) {
    t += 0.8 * (1 + 0.03 * r.normal());
    out.push({ at: t, rr: 0.8, waves: base });
    const odds = run(k);
    for (let i = 0; i < odds; i++) {
      const rr = 0.46 * (1 + 0.05 * r.normal());
      t += rr;
      out.push({ at: t, rr, waves: odd() });
    }
    if (odds > 0) t += 0.34;
  }
  return out;
}

const steady = (r: Random, shape: Shape, rr = 0.8): Beat[] =>
  train(
    r,
    () => rr,
    () => normal(shape),
  );
const scaled = (a: number) => normal().map(w => ({ ...w, mv: a * w.mv }));
const wave = (hz: number, mv: number) => (t: number) => mv * sin(2 * Math.PI * hz * t);

/** Steps of the baseline that creep back, one about every 12 s. */
function jumps(r: Random): (t: number) => number {
  const steps = Array.from({ length: seconds / 12 }, (_, k) => [
    12 * k + r.between(3, 9),
    r.between(1, 3) * (r.uniform() < 0.5 ? -1 : 1),
  ]) as [number, number][];
  return t => {
    let sum = 0;
    for (const [at, mv] of steps) if (t > at) sum += mv * (1 - Math.exp((at - t) / 0.02)) * Math.exp((at - t) / 1.2);
    return sum;
  };
}

function fibrillation(r: Random, oddShare: number): Beat[] {
  const odd = () => r.pick([ectopicUp(0.8), ectopicDown(0.8), ectopicDown(1.3)]);
  return train(
    r,
    () => Math.max(0.34, 0.65 * (1 + 0.22 * r.normal())),
    () => (r.uniform() < oddShare ? odd() : normal({ p: 0 })),
  );
}

/** Atrial flutter at 293 a minute, conducted to the ventricles two, three or four to one. */
function flutter(r: Random): Scene {
  const beats: Beat[] = [];
  for (let t = 0.6; t < seconds - 1; t += 0.205 * r.pick([2, 3, 4, 4]))
    beats.push({ at: t + 0.08, rr: 0.7, waves: normal({ p: 0, t: 0.1 }) });
  const saw = (t: number) => wave(1 / 0.205, 0.2)(t) + wave(2 / 0.205, 0.07)(t);
  return { beats, under: saw };
}

/** Every third beat of nine is dropped after its P wave. */
function dropped(r: Random): Scene {
  const all = steady(r, {}, 0.9);
  const lost = (k: number) => k % 9 < 3;
  return {
    beats: all.filter((_, k) => !lost(k)),
    loose: all.filter((_, k) => lost(k)).map(b => ({ at: b.at - 0.16, width: 0.024, mv: 0.12 })),
  };
}

const shapes: Record<string, (r: Random) => Scene> = {
  plain: r => ({ beats: steady(r, {}) }),
  'of 0.12 mV': r => ({
    beats: train(
      r,
      () => 0.8,
      () => scaled(0.12),
    ),
  }),
  biphasic: r => ({ beats: steady(r, { r: 0.6, s: -1.08 }) }),
  narrow: r => ({ beats: steady(r, { rWidth: 0.007 }, 0.5) }),
  'T wave above R': r => ({ beats: steady(r, { t: 1.2 }, 0.9) }),
  'deep T wave': r => ({ beats: steady(r, { t: -1 }, 0.7) }),
  'tall P wave': r => ({ beats: steady(r, { p: 0.45, r: 0.7 }) }),
  'left bundle branch block': r => ({
    beats: train(
      r,
      () => 0.8,
      () => leftBlock,
    ),
  }),
  'right bundle branch block': r => ({
    beats: train(
      r,
      () => 0.75,
      () => rightBlock,
    ),
  }),
  'pre-excited': r => ({
    beats: train(
      r,
      () => 0.8,
      () => preExcited,
    ),
  }),
  paced: r => ({
    beats: train(
      r,
      () => 0.85,
      () => paced(0.8, 0),
    ),
  }),
  'paced with tall spikes': r => ({
    beats: train(
      r,
      () => 0.85,
      () => paced(3, 0),
    ),
  }),
  'paced in both chambers': r => ({
    beats: train(
      r,
      () => 0.85,
      () => paced(0.8, 0.5),
    ),
  }),
  'paced now and then': r => ({
    beats: train(
      r,
      () => 0.85,
      k => (k % 14 < 7 ? normal({ r: 0.7 }) : paced(0.6, 0)),
    ),
  }),
  alternans: r => ({
    beats: train(
      r,
      () => 0.7,
      k => normal({ r: k % 2 === 0 ? 0.45 : 1 }),
    ),
  }),
  'swinging with breath': r => ({
    beats: train(
      r,
      () => 0.75,
      (_, t) => normal({ r: 0.9 + 0.55 * sin(1.6 * t) }),
    ),
  }),
  'shrinking at once': r => ({
    beats: train(
      r,
      () => 0.8,
      (_, t) => scaled(t % 40 > 20 ? 0.3 : 1.2),
    ),
  }),
};

const rhythms: Record<string, (r: Random) => Scene> = {
  'bigeminy, upward': r => ({
    beats: ectopics(
      r,
      normal(),
      () => ectopicUp(1),
      () => 1,
    ),
  }),
  'bigeminy, downward': r => ({
    beats: ectopics(
      r,
      normal(),
      () => ectopicDown(1),
      () => 1,
    ),
  }),
  'bigeminy of low and tall beats': r => ({
    beats: ectopics(
      r,
      normal({ r: 0.4, p: 0.06, t: 0.1 }),
      () => ectopicUp(1.2),
      () => 1,
    ),
  }),
  'ectopics after T waves as tall': r => ({
    beats: ectopics(
      r,
      normal({ t: 0.9 }),
      () => r.pick([ectopicUp(1), ectopicDown(1)]),
      k => (k % 9 === 5 ? 1 : 0),
    ),
  }),
  couplets: r => ({
    beats: ectopics(
      r,
      normal(),
      () => ectopicUp(1),
      k => (k % 6 === 5 ? 2 : 0),
    ),
  }),
  'runs of ventricular beats': r => ({
    beats: ectopics(
      r,
      normal(),
      () => ectopicUp(0.9).slice(0, 2),
      k => (k % 15 === 10 ? 10 : 0),
    ),
  }),
  'atrial fibrillation': r => ({ beats: fibrillation(r, 0), under: wave(6.3, 0.08) }),
  'atrial fibrillation with ectopics': r => ({ beats: fibrillation(r, 0.15), under: wave(6, 0.07) }),
  'atrial flutter': flutter,
  'bursts of 220 a minute': r => ({
    beats: train(
      r,
      t => (t % 30 > 15 ? 0.272 : 0.85),
      (_, t) => normal({ p: t % 30 > 15 ? 0 : 0.12, t: 0.15 }),
    ),
  }),
  '30 a minute': r => ({ beats: steady(r, { t: 0.7, tWidth: 0.05 }, 2) }),
  'atria and ventricles apart': r => ({
    beats: train(
      r,
      () => 1.8,
      () => ectopicUp(0.8),
    ),
    loose: Array.from({ length: seconds / 0.72 - 1 }, (_, k) => ({ at: 0.3 + 0.72 * k, width: 0.024, mv: 0.2 })),
  }),
  'beats dropped after their P wave': dropped,
  'pauses of up to six seconds': r => ({
    beats: train(
      r,
      () => (r.uniform() < 0.1 ? r.between(2.5, 6) : 0.9),
      () => normal(),
    ),
  }),
};

const disturbances: Record<string, (r: Random) => Scene> = {
  'mains hum': r => ({ beats: steady(r, {}), under: wave(50.1, 0.2) }),
  'wandering baseline': r => ({ beats: steady(r, {}), under: t => wave(0.31, 1.2)(t) + wave(0.63, 0.8)(t) }),
  'jumping baseline': r => ({ beats: steady(r, {}), under: jumps(r) }),
  'bursts of muscle noise': r => ({ beats: steady(r, {}), noiseMv: t => (t % 20 < 6 ? 0.08 : 0) }),
};

const scenes = { ...shapes, ...rhythms, ...disturbances };
export const stressKinds = Object.keys(scenes);

/** One minute of a kind, 200 words per mV. */
export function stressRecording(kind: string, samplingRateHz: number): StressRecording {
  const { beats, loose = [], under, noiseMv } = scenes[kind]!(randomFrom(`stress/${kind}`));
  const mv = new Float32Array(seconds * samplingRateHz);
  const put = (at: number, rr: number, w: Bell) => {
    const k = w.followsRr ? Math.sqrt(Math.min(1.3, Math.max(0.3, rr))) : 1;
    // As an anti-aliasing filter would: never narrower than the sampling step allows, of the same area.
    const width = Math.max(k * w.width, 0.35 / samplingRateHz);
    addWave(mv, (at + k * w.at) * samplingRateHz, width * samplingRateHz, (w.mv * k * w.width) / width);
  };
  for (const beat of beats) for (const w of beat.waves) put(beat.at, beat.rr, w);
  for (const w of loose) put(0, 1, w);
  const random = randomFrom(`stress/${kind}/noise`);
  for (let i = 0; i < mv.length; i++) {
    const t = i / samplingRateHz;
    mv[i]! += (under?.(t) ?? 0) + (0.008 + (noiseMv?.(t) ?? 0)) * random.normal();
  }
  return {
    words: Int16Array.from(mv, v => Math.round(200 * v)),
    beats: Int32Array.from(beats, b => Math.round(b.at * samplingRateHz)),
  };
}
