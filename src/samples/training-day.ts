import type { Marks } from '../core/marks/markset';
import { defaultMatchSettings } from '../core/marks/match';
import { covers, subtract } from '../core/marks/spans';
import { type Random, randomFrom } from '../core/random';
import type { Recording, Segment } from '../core/recording/recording';
import type { Session, SessionRecording } from '../core/review/session';
import { type Ecg, type LeadSpec, leadsOf, type RecorderSpec, recordHeart } from '../core/simulate/ecg';
import { countsByShare, type PlantCounts, type PlantResult, plantMistakes } from '../core/simulate/plant';
import { type EffortStep, restingVariability, simulateHeart } from '../core/simulate/rhythm';
import { type BodyShape, plainShape, qrsPeakToPeakMv } from '../core/simulate/waveform';
import type { Span } from '../core/units';
import { span, toSample } from '../core/units';
import { type Activity, activities, type RecorderName, recorders } from './activities';
import { drawNoise } from './activity-noise';

/**
 * An invented training day of a mountain-rescue team: five activities of five minutes, two recorders on each volunteer.
 * Everything follows from the seed and the volunteer's code.
 */
export const trainingDaySeed = 'training day 2026-09-12';
/**
 * Part of the sessions' ids: raised with every change of the signals, so that no review of the signals before, with or
 * without them in its file, is taken for one of these.
 */
export const signalVersion = 2;
export const volunteers = ['V01', 'V02', 'V03', 'V04', 'V05', 'V06', 'V07', 'V08'] as const;

/** Body time at which activity i starts, s; 20 s between activities. */
const activityStart = (i: number) => 20 + 320 * i;
const activitySeconds = 300;
const daySeconds = activityStart(activities.length) + 5;

const leadsBy: Readonly<Record<RecorderName, readonly LeadSpec[]>> = {
  'chest band': [{ name: 'chest', angleDegrees: 30 }],
  'adhesive logger': [
    { name: 'A', angleDegrees: 55 },
    { name: 'B', angleDegrees: 5 },
    { name: 'C', angleDegrees: 105 },
  ],
};

/** One recorder of one volunteer: what the page sees, and what is true. */
export interface TrainingRecording {
  readonly session: SessionRecording;
  readonly leads: readonly Int16Array[];
  readonly truth: RecordingTruth;
}

export interface RecordingTruth {
  readonly ecg: Ecg;
  readonly plant: PlantResult;
  /** Stretches in which the beats cannot be read, without the gaps. */
  readonly unreadable: readonly Span[];
  /** Body time of the first sample, s, and how much faster than true the recorder's clock runs. */
  readonly startSeconds: number;
  readonly driftPpm: number;
  /** What the recorder's wall clock is ahead, s. */
  readonly wallClockAheadSeconds: number;
}

export interface TrainingDay {
  readonly session: Session;
  readonly recordings: readonly TrainingRecording[];
}

export function trainingDay(volunteer: string, seed = trainingDaySeed): TrainingDay {
  const own = `${seed}/${volunteer}`;
  const person = drawPerson(randomFrom(`${own}/person`), volunteer);
  const heart = simulateHeart(person.rhythm, `${own}/heart`);
  const recordings = recorders.map(name => recordOne(name, volunteer, person, heart, own));
  const session: Session = {
    id: `${volunteer}-training-day-${signalVersion}`,
    title: `${volunteer}, training day`,
    participant: volunteer,
    recordings: recordings.map(r => r.session),
    settings: defaultMatchSettings,
  };
  return { session, recordings };
}

interface Person {
  readonly shape: BodyShape;
  readonly rhythm: Parameters<typeof simulateHeart>[0];
  /** How much worse than usual recorders do on this person. */
  readonly trouble: number;
}

/** V03 and V07 have ectopic beats, V05 tall T waves: a detector's and a rater's difficulties are all there. */
function drawPerson(random: Random, volunteer: string): Person {
  const fitness = random.between(-8, 8);
  const effort: EffortStep[] = activities.map((activity, i) => ({
    atSeconds: i === 0 ? 0 : activityStart(i) - 10,
    heartRateBpm: activity.heartRateBpm + fitness * (i === 0 ? 0.7 : 1),
    breathsPerMinute: activity.breathsPerMinute + random.between(-1.5, 1.5),
    settlingSeconds: activity.heartRateBpm > (activities[i - 1]?.heartRateBpm ?? 0) ? 25 : 60,
  }));
  const ectopic = volunteer === 'V03' || volunteer === 'V07';
  return {
    shape: {
      ...plainShape,
      rMv: random.between(0.85, 1.4),
      rAxisDegrees: random.between(35, 70),
      tScale: volunteer === 'V05' ? 3 : random.between(0.7, 1.3),
    },
    rhythm: {
      durationSeconds: daySeconds,
      effort,
      variability: {
        lfMs: restingVariability.lfMs * random.between(0.8, 1.2),
        hfMs: restingVariability.hfMs * random.between(0.8, 1.2),
        driftMs: restingVariability.driftMs * random.between(0.8, 1.2),
      },
      ventricularPerMinute: ectopic ? 1.2 : 0,
      supraventricularPerMinute: ectopic ? 0.8 : 0,
    },
    trouble: random.between(0.7, 1.4),
  };
}

function recordOne(
  name: RecorderName,
  volunteer: string,
  person: Person,
  heart: ReturnType<typeof simulateHeart>,
  own: string,
): TrainingRecording {
  const random = randomFrom(`${own}/${name}`);
  const chest = name === 'chest band';
  const rateHz = chest ? 130 : 250;
  const startSeconds = Math.round(random.between(chest ? 2 : 6, chest ? 6 : 13) * 1000) / 1000;
  const driftPpm = Math.round(random.between(15, 60)) * (chest ? -1 : 1);
  const wallClockAheadSeconds = Math.round(random.between(-20, 20));
  const wordRate = rateHz * (1 + driftPpm * 1e-6);
  const segments = activities.map((a, i) => ({
    name: a.name,
    start: toSample((activityStart(i) - startSeconds) * wordRate, 1),
    end: toSample((activityStart(i) + activitySeconds - startSeconds) * wordRate, 1),
  }));
  const gaps = volunteer === 'V04' && !chest ? [span(segments[2]!.start + 23_000, segments[2]!.start + 25_250)] : [];
  const leads = leadsBy[name];
  const heights = { rMv: person.shape.rMv, qrsMv: qrsPeakToPeakMv(person.shape, leads[0]!.angleDegrees) };
  const spec: RecorderSpec = {
    samplingRateHz: rateHz,
    durationSeconds: daySeconds - startSeconds - 1,
    leads,
    mvPerUnit: 0.005,
    fullScaleMv: 5,
    mainsHz: 50,
    floorMv: chest ? 0.012 : 0.008,
    startSeconds,
    driftPpm,
    noise: drawNoise(name, segments, rateHz, heights, gaps, random),
  };
  const ecg = recordHeart(heart, person.shape, spec, `${own}/${name}`);
  for (const gap of gaps) for (const lead of ecg.leads) lead.fill(0, gap.start, gap.end);
  const plant = plantOne(name, ecg, segments, gaps, person.trouble, `${own}/${name}`, random);
  const truth = {
    ecg,
    plant,
    unreadable: subtract(ecg.unreadable, gaps),
    startSeconds,
    driftPpm,
    wallClockAheadSeconds,
  };
  return { session: sessionRecording(name, ecg, plant.detected, segments, gaps, truth, own), leads: ecg.leads, truth };
}

function plantOne(
  name: RecorderName,
  ecg: Ecg,
  segments: readonly Segment[],
  gaps: readonly Span[],
  trouble: number,
  seed: string,
  random: Random,
): PlantResult {
  const stretches = segments.map((s, i) =>
    countsByShare(ecg, s, sharesOf(activities[i]!, name, trouble, random), random),
  );
  const plan = { stretches, noiseWeight: 12, longestRun: 3, jitterShare: 0.02 };
  // The motion of a whole activity makes none of its beats likelier to be mistaken than another.
  const whole = activitySeconds * ecg.samplingRateHz;
  const noiseSpans = ecg.noiseSpans.filter(n => n.end - n.start < whole);
  const plant = plantMistakes({ ...ecg, noiseSpans }, plan, seed);
  return { ...plant, detected: plant.detected.filter(m => !covers(gaps, m)) };
}

/**
 * Mistakes a beat from the share of wrong intervals: a missed or misplaced mark spoils two intervals, an extra one one.
 */
function sharesOf(activity: Activity, name: RecorderName, trouble: number, random: Random): PlantCounts {
  const wrong = activity.wrongIntervals[name] * (activity.wrongIntervals[name] > 0.01 ? trouble : 1);
  const part = (share: number) => share * wrong * random.between(0.7, 1.3);
  return { missed: part(0.24), wrongPeak: part(0.12), shifted: part(0.04), extra: part(0.2) };
}

function sessionRecording(
  name: RecorderName,
  ecg: Ecg,
  detected: Marks,
  segments: readonly Segment[],
  gaps: readonly Span[],
  clock: Pick<RecordingTruth, 'startSeconds' | 'wallClockAheadSeconds'>,
  own: string,
): SessionRecording {
  const recording: Recording = {
    id: name.replace(' ', '-'),
    recorder: name,
    samplingRateHz: ecg.samplingRateHz,
    sampleCount: ecg.sampleCount,
    startedAt: wallTime(9 * 3600 + clock.startSeconds + clock.wallClockAheadSeconds),
    leads: leadsOf(ecg),
    gaps,
    source: `simulated, seed "${own}"`,
  };
  return { recording, detected, detectedBy: `${name}, its own marks`, segments };
}

/** `2026-09-12T09:00:03.250` for a time of that day in s. */
function wallTime(secondsOfDay: number): string {
  const ms = Math.round(secondsOfDay * 1000);
  const pad = (value: number, width: number) => String(value).padStart(width, '0');
  const [h, m, s] = [Math.floor(ms / 3_600_000), Math.floor(ms / 60_000) % 60, Math.floor(ms / 1000) % 60];
  return `2026-09-12T${pad(h, 2)}:${pad(m, 2)}:${pad(s, 2)}.${pad(ms % 1000, 3)}`;
}
