import { sin } from '../elementary';
import type { Marks } from '../marks/markset';
import { intersect, normalise } from '../marks/spans';
import { randomFrom } from '../random';
import type { Lead } from '../recording/recording';
import type { Span } from '../units';
import { span } from '../units';
import { addNoise, type NoiseKind, type NoiseSpan, type NoiseSpec } from './noise';
import { BeatClass, bodyAt, type Heart, type RhythmSpec, simulateHeart } from './rhythm';
import { addWave, type BodyShape, beatShapes, projection, stretch, type Wave } from './waveform';

export interface LeadSpec {
  readonly name: string;
  /** Direction in the frontal plane, degrees; about 180 from the R axis gives an inverted lead. */
  readonly angleDegrees: number;
}

/** A recorder with its own clock: sample i is taken at body time startSeconds + i / (rate x (1 + drift)). */
export interface RecorderSpec {
  readonly samplingRateHz: number;
  readonly durationSeconds: number;
  /** The first one is the reference lead that the beats' apexes are taken from. */
  readonly leads: readonly LeadSpec[];
  readonly mvPerUnit: number;
  readonly fullScaleMv: number;
  readonly mainsHz: number;
  /** RMS of the recorder's own noise in every lead, always there. */
  readonly floorMv: number;
  readonly startSeconds: number;
  readonly driftPpm: number;
  readonly noise: readonly NoiseSpec[];
}

export interface Ecg {
  readonly samplingRateHz: number;
  readonly sampleCount: number;
  readonly mvPerUnit: number;
  readonly leadNames: readonly string[];
  /** mV = word x mvPerUnit. */
  readonly leads: readonly Int16Array[];
  /** Reference lead before any noise or breathing baseline, mV. */
  readonly clean: Float32Array;
  /** True R apexes in the reference lead, to the sample. */
  readonly beats: Marks;
  /** BeatClass per beat. */
  readonly classes: Uint8Array;
  /** Apex of each beat's P and T wave in the reference lead; -1 where it has none or it lies outside. */
  readonly pPeaks: Int32Array;
  readonly tPeaks: Int32Array;
  readonly noiseSpans: readonly NoiseSpan[];
  /** Stretches in which the beats cannot be made out in any lead. */
  readonly unreadable: readonly Span[];
}

export interface EcgSpec {
  readonly rhythm: RhythmSpec;
  readonly shape: BodyShape;
  readonly recorder: RecorderSpec;
}

export function simulateEcg(spec: EcgSpec, seed: string | number): Ecg {
  return recordHeart(simulateHeart(spec.rhythm, `${seed}/rhythm`), spec.shape, spec.recorder, seed);
}

/** What one recorder makes of a heart; several recorders may watch the same one. */
export function recordHeart(heart: Heart, shape: BodyShape, recorder: RecorderSpec, seed: string | number): Ecg {
  const sampleCount = Math.round(recorder.durationSeconds * recorder.samplingRateHz);
  const placed = placeBeats(heart, recorder, sampleCount);
  const shapes = beatShapes(shape);
  const drawn = recorder.leads.map(lead => drawLead(heart, shapes, recorder, placed, lead.angleDegrees, sampleCount));
  const clean = drawn[0];
  if (!clean) throw new RangeError('a recorder needs at least one lead');
  const leads = drawn.map((lead, i) => withFloor(lead, heart, recorder, randomFrom(`${seed}/floor ${i}`)));
  const noiseSpans = recorder.noise.flatMap((n, i) => addNoise(leads, n, recorder, `${seed}/noise ${i}`));
  const apexes = findApexes(heart, shapes, recorder, placed, clean);
  return {
    samplingRateHz: recorder.samplingRateHz,
    sampleCount,
    mvPerUnit: recorder.mvPerUnit,
    leadNames: recorder.leads.map(l => l.name),
    leads: leads.map(lead => digitise(lead, recorder)),
    clean,
    ...apexes,
    noiseSpans,
    unreadable: unreadableSpans(noiseSpans, recorder, shape),
  };
}

/** Its leads as a recording describes them. */
export function leadsOf({ leadNames, samplingRateHz, sampleCount, mvPerUnit }: Ecg): Lead[] {
  return leadNames.map(name => ({
    name,
    samplingRateHz,
    sampleCount,
    format: 'int16',
    mvPerUnit,
    offset: 0,
    fileUnit: 'mV',
  }));
}

/** Beats that reach into the recording: index into the heart's beats, and position in (fractional) samples. */
interface Placed {
  readonly beat: number;
  readonly at: number;
}

function placeBeats(heart: Heart, recorder: RecorderSpec, sampleCount: number): Placed[] {
  const rate = recorder.samplingRateHz * (1 + recorder.driftPpm * 1e-6);
  const out: Placed[] = [];
  for (let beat = 0; beat < heart.times.length; beat++) {
    const at = (heart.times[beat]! - recorder.startSeconds) * rate;
    if (at > -recorder.samplingRateHz && at < sampleCount + recorder.samplingRateHz) out.push({ beat, at });
  }
  return out;
}

/** One lead without noise. Breathing turns the heart's axis a little and scales the beat (common practice). */
function drawLead(
  heart: Heart,
  shapes: readonly (readonly Wave[])[],
  recorder: RecorderSpec,
  placed: readonly Placed[],
  angleDegrees: number,
  sampleCount: number,
): Float32Array {
  const lead = new Float32Array(sampleCount);
  for (const { beat, at } of placed) {
    const breath = sin(bodyAt(heart.body, heart.body.breathPhase, heart.times[beat]!));
    const rr = heart.rrSeconds[beat]!;
    for (const wave of shapes[heart.classes[beat]!]!) {
      const scale = stretch(wave, rr) * recorder.samplingRateHz;
      const height = wave.heightMv * (1 + 0.06 * breath) * projection(wave, angleDegrees + 4 * breath);
      addWave(lead, at + wave.delaySeconds * scale, wave.widthSeconds * scale, height);
    }
  }
  return lead;
}

/** A copy with the recorder's own noise and the slow swing of breathing. */
function withFloor(lead: Float32Array, heart: Heart, recorder: RecorderSpec, random: ReturnType<typeof randomFrom>) {
  const out = new Float32Array(lead.length);
  const rate = recorder.samplingRateHz * (1 + recorder.driftPpm * 1e-6);
  const swing = random.between(0.02, 0.06);
  for (let i = 0; i < lead.length; i++) {
    const breath = sin(bodyAt(heart.body, heart.body.breathPhase, recorder.startSeconds + i / rate) - 0.8);
    out[i] = lead[i]! + swing * breath + recorder.floorMv * random.normal();
  }
  return out;
}

function findApexes(
  heart: Heart,
  shapes: readonly (readonly Wave[])[],
  recorder: RecorderSpec,
  placed: readonly Placed[],
  clean: Float32Array,
): Pick<Ecg, 'beats' | 'classes' | 'pPeaks' | 'tPeaks'> {
  const rate = recorder.samplingRateHz;
  const angle = recorder.leads[0]!.angleDegrees;
  const rows: [number, number, number, number][] = [];
  for (const { beat, at } of placed) {
    const waves = shapes[heart.classes[beat]!]!;
    const apexOf = (name: Wave['name'], reachSeconds: number) => {
      const wave = waves.find(w => w.name === name);
      if (!wave) return -1;
      const middle = at + wave.delaySeconds * stretch(wave, heart.rrSeconds[beat]!) * rate;
      return apex(clean, middle, reachSeconds * rate, wave.heightMv * projection(wave, angle));
    };
    const wide = heart.classes[beat] === BeatClass.ventricular;
    const r = apexOf('R', wide ? 0.045 : 0.03);
    if (r !== -1) rows.push([r, heart.classes[beat]!, apexOf('P', 0.02), apexOf('T', 0.03)]);
  }
  return {
    beats: Int32Array.from(rows, row => row[0]),
    classes: Uint8Array.from(rows, row => row[1]),
    pPeaks: Int32Array.from(rows, row => row[2]),
    tPeaks: Int32Array.from(rows, row => row[3]),
  };
}

/** Sample of the largest deflection in the direction of `height` within reach; -1 when the reach leaves the recording. */
function apex(clean: Float32Array, middle: number, reach: number, height: number): number {
  const from = Math.ceil(middle - reach);
  const to = Math.floor(middle + reach);
  if (from < 1 || to > clean.length - 2) return -1;
  const sign = height < 0 ? -1 : 1;
  let best = from;
  for (let i = from + 1; i <= to; i++) if (sign * clean[i]! > sign * clean[best]!) best = i;
  return best;
}

/** Noise of this many R heights hides the beats from the eye (a setting of the simulation, not a finding). */
const buriesAt: Record<NoiseKind, number> = {
  baseline: Infinity,
  muscle: 0.55,
  motion: Infinity,
  storm: 0.8,
  mains: Infinity,
  steps: Infinity,
  off: 0,
};

function unreadableSpans(noise: readonly NoiseSpan[], recorder: RecorderSpec, shape: BodyShape): Span[] {
  const perLead = recorder.leads.map((_, lead) => {
    const hidden = noise.filter(n => n.leads.includes(lead) && n.levelMv >= buriesAt[n.kind] * shape.rMv);
    return normalise(hidden.map(n => span(n.start, n.end)));
  });
  return perLead.reduce((all, lead) => intersect(all, lead));
}

function digitise(lead: Float32Array, { mvPerUnit, fullScaleMv }: RecorderSpec): Int16Array {
  const limit = Math.min(32767, Math.round(fullScaleMv / mvPerUnit));
  const out = new Int16Array(lead.length);
  for (let i = 0; i < lead.length; i++) {
    const word = Math.round(lead[i]! / mvPerUnit);
    out[i] = Math.max(-limit, Math.min(limit, word));
  }
  return out;
}
