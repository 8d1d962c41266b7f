import { defaultMatchSettings } from '../marks/match';
import type { Session } from '../review/session';
import { type Ecg, type EcgSpec, leadsOf, simulateEcg } from '../simulate/ecg';
import { restingVariability } from '../simulate/rhythm';
import { plainShape } from '../simulate/waveform';
import { span } from '../units';

const durationSeconds = 60;

const spec: EcgSpec = {
  rhythm: {
    durationSeconds,
    effort: [{ atSeconds: 0, heartRateBpm: 65, breathsPerMinute: 15, settlingSeconds: 30 }],
    variability: restingVariability,
  },
  shape: plainShape,
  recorder: {
    samplingRateHz: 250,
    durationSeconds,
    leads: [{ name: 'lead A', angleDegrees: 55 }],
    mvPerUnit: 0.005,
    fullScaleMv: 5,
    mainsHz: 50,
    floorMv: 0.01,
    startSeconds: 0,
    driftPpm: 0,
    noise: [{ kind: 'muscle', fromSeconds: 30, toSeconds: 45, levelMv: 0.05 }],
  },
};

/**
 * Beats the simulation places and the checksum of its words (first 16 digits), as made by Node on Linux: a browser that
 * computes otherwise shows here.
 */
export const simulatedAnswers = { beats: 63, signal: '08dc53a47a46e342' } as const;

/** One minute of a seated volunteer, with muscle noise in the third quarter: the same words on every machine. */
export function simulatedMinute(): Ecg {
  return simulateEcg(spec, 'known answers');
}

/** A session of that minute, its true beats standing for the recorder's marks. */
export function simulatedSession(ecg: Ecg): Session {
  const { samplingRateHz, sampleCount } = ecg;
  const recording = {
    id: 'chest-band',
    recorder: 'chest band',
    samplingRateHz,
    sampleCount,
    startedAt: '2026-09-12T09:00:00.000',
    leads: leadsOf(ecg),
    gaps: [],
    source: 'simulated',
  };
  const segments = [{ name: 'seated radio watch', ...span(0, sampleCount) }];
  return {
    id: 'V01-example',
    title: 'V01, one simulated minute',
    participant: 'V01',
    settings: defaultMatchSettings,
    recordings: [{ recording, detected: ecg.beats, detectedBy: 'the simulation', segments }],
  };
}
