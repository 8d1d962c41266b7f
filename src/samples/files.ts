import { utf8ToBytes } from '@noble/hashes/utils.js';
import { canonicalJson, type EditLog } from '../core/marks/log';
import type { ReviewedSession } from '../core/review/session';
import { BeatClass } from '../core/simulate/rhythm';
import { writeBundle } from '../formats/bundle/writer';
import { plainFiles } from './recording-files';
import { finishedReview, halfReview } from './review';
import { drawSlips, type Slip } from './slips';
import {
  signalVersion,
  type TrainingDay,
  type TrainingRecording,
  trainingDay,
  trainingDaySeed,
  volunteers,
} from './training-day';

/** What lies in sample-sessions/, every byte from the seed. Paths are relative to that folder. */
export type SampleFile = readonly [path: string, bytes: Uint8Array];

/** Volunteers offered first, not reviewed yet but for V02. */
const sampleVolunteers = ['V01', 'V02', 'V03', 'V04'] as const;
/** Volunteers of the demo study with a blind second rating. */
const doubleRated: readonly string[] = ['V03', 'V06'];

export async function* sampleSet(): AsyncGenerator<SampleFile> {
  for (const volunteer of volunteers) {
    const day = trainingDay(volunteer);
    if (sampleVolunteers.some(v => v === volunteer)) yield sessionFile(day);
    yield studyFile(day);
    yield truthFile(day);
    if (volunteer !== 'V01') continue;
    for (const [name, bytes] of await plainFiles(day)) yield [`files/${name}`, bytes];
  }
  yield ['index.json', utf8ToBytes(`${JSON.stringify(indexOf(), null, 2)}\n`)];
}

/** A session to start on; V02's review is half done. */
export function sessionFile(day: TrainingDay): SampleFile {
  const { participant } = day.session;
  const logs = participant === 'V02' ? [halfReview(day, 'R1', '2026-09-14T07:12:00Z', trainingDaySeed)] : [];
  return [`sessions/${participant}.zip`, bundle(day, logs)];
}

/** The same day in the demo study: reviewed by R1, whose review is the truth, and here and there by R2. */
function studyFile(day: TrainingDay): SampleFile {
  const study = asStudy(day);
  const { participant } = study.session;
  const number = Number(participant.slice(1));
  const started = `2026-09-${14 + number}T07:00:00Z`;
  const logs = [finishedReview(study, 'R1', started, trainingDaySeed, [])];
  if (doubleRated.includes(participant)) {
    logs.push(finishedReview(study, 'R2', `2026-10-0${number}T13:30:00Z`, trainingDaySeed, slipsOf(study)));
  }
  return [`study/${participant}.zip`, bundle(study, logs)];
}

/** The session in the study has an id of its own, so that both can be kept side by side. */
function asStudy(day: TrainingDay): TrainingDay {
  const { participant } = day.session;
  return {
    ...day,
    session: { ...day.session, id: `${participant}-study-${signalVersion}`, title: `${participant}, demo study` },
  };
}

function slipsOf(day: TrainingDay): Slip[] {
  return drawSlips(day, `${trainingDaySeed}/${day.session.participant}`);
}

function bundle(day: TrainingDay, logs: readonly EditLog[]): Uint8Array {
  const reviewed: ReviewedSession = { session: day.session, logs };
  const leads = new Map(day.recordings.map(r => [r.session.recording.id, r.leads]));
  return writeBundle(reviewed, (id, lead) => leads.get(id)![lead]!);
}

/** What is true of one volunteer's day, for tests and practice; kept apart from the sessions. */
export function truthFile(day: TrainingDay): SampleFile {
  const { participant } = day.session;
  const [chest, logger] = day.recordings as [TrainingRecording, TrainingRecording];
  const truth = {
    participant,
    seed: trainingDaySeed,
    clocks: clockRelation(chest, logger),
    recordings: day.recordings.map(recordingTruth),
    secondRaterSlips: doubleRated.includes(participant) ? slipsOf(day).map(slipRow) : [],
  };
  return [`truth/${participant}.json`, utf8ToBytes(`${canonicalJson(truth)}\n`)];
}

/** Seconds on clock `to` = offsetSeconds + (1 + driftPpm / 1e6) x seconds on clock `from`, both from the first sample. */
function clockRelation(from: TrainingRecording, to: TrainingRecording) {
  const rate = (r: TrainingRecording) => 1 + r.truth.driftPpm * 1e-6;
  return {
    from: from.session.recording.id,
    to: to.session.recording.id,
    offsetSeconds: (from.truth.startSeconds - to.truth.startSeconds) * rate(to),
    driftPpm: (rate(to) / rate(from) - 1) * 1e6,
  };
}

function recordingTruth({ session, truth }: TrainingRecording) {
  const { ecg, plant, unreadable, startSeconds, driftPpm, wallClockAheadSeconds } = truth;
  const ectopic = [...ecg.beats.entries()].filter(([k]) => ecg.classes[k] !== BeatClass.normal);
  return {
    id: session.recording.id,
    samplingRateHz: ecg.samplingRateHz,
    clock: { startSeconds, driftPpm, wallClockAheadSeconds },
    beats: [...ecg.beats],
    ectopic: ectopic.map(([k, beat]) => ({ beat, class: BeatClass[ecg.classes[k]!] })),
    planted: plant.planted,
    jittered: plant.jittered,
    unreadable,
    noise: ecg.noiseSpans.map(({ kind, start, end, levelMv }) => ({ kind, start, end, levelMv })),
  };
}

function slipRow({ recording, kind, at, span }: Slip) {
  return { recording, kind, at, ...(span ? { span } : {}) };
}

/** The list the first page offers. */
function indexOf() {
  const about: Record<string, string> = {
    V01: 'Not reviewed yet.',
    V02: 'Half reviewed by R1: two activities signed off, the third begun.',
    V03: 'Not reviewed yet; with early beats that are right.',
    V04: 'Not reviewed yet; the adhesive logger stopped for some seconds.',
  };
  return {
    sessions: sampleVolunteers.map(v => ({
      file: `sessions/${v}.zip`,
      id: `${v}-training-day-${signalVersion}`,
      title: `${v}, training day`,
      participant: v,
      about: about[v],
    })),
    study: {
      title: 'Training day, eight volunteers',
      files: volunteers.map(v => `study/${v}.zip`),
      about: 'Eight volunteers, two recorders, five activities; all reviewed by R1, V03 and V06 also by R2.',
    },
  };
}
