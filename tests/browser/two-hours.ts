import { defaultMatchSettings } from '../../src/core/marks/match';
import type { Recording } from '../../src/core/recording/recording';
import type { Session } from '../../src/core/review/session';
import { scoreRecording } from '../../src/core/score/score';
import { simulateEcg } from '../../src/core/simulate/ecg';
import { plantMistakes } from '../../src/core/simulate/plant';
import { restingVariability } from '../../src/core/simulate/rhythm';
import { plainShape } from '../../src/core/simulate/waveform';
import { span } from '../../src/core/units';
import { writeBundle } from '../../src/formats/bundle/writer';

export const rateHz = 128;

/** Hours of a night watch at about 60 beats a minute with planted mistakes, as a session bundle with its truth. */
export function nightWatch(durationSeconds: number) {
  const seed = 'two hours of a night watch';
  const ecg = simulateEcg(
    {
      rhythm: {
        durationSeconds: durationSeconds + 2,
        effort: [{ atSeconds: 0, heartRateBpm: 60, breathsPerMinute: 14, settlingSeconds: 30 }],
        variability: restingVariability,
      },
      shape: plainShape,
      recorder: {
        samplingRateHz: rateHz,
        durationSeconds,
        leads: [{ name: 'A', angleDegrees: 55 }],
        mvPerUnit: 0.005,
        fullScaleMv: 5,
        mainsHz: 50,
        floorMv: 0.004,
        startSeconds: 0,
        driftPpm: 0,
        noise: [],
      },
    },
    seed,
  );
  const segment = { name: 'night watch', ...span(0, ecg.sampleCount) };
  const plant = plantMistakes(
    ecg,
    { stretches: [{ ...segment, missed: 12, wrongPeak: 0, extra: 8, shifted: 0 }] },
    seed,
  );
  const recording: Recording = {
    id: 'logger',
    recorder: 'adhesive logger',
    samplingRateHz: rateHz,
    sampleCount: ecg.sampleCount,
    startedAt: '2026-09-12T22:00:00',
    leads: [
      {
        name: 'A',
        samplingRateHz: rateHz,
        sampleCount: ecg.sampleCount,
        format: 'int16',
        mvPerUnit: 0.005,
        offset: 0,
        fileUnit: 'mV',
      },
    ],
    gaps: [],
    source: `simulated, seed ${seed}`,
  };
  const session: Session = {
    id: 'two-hours',
    title: 'Two hours of a night watch',
    participant: 'V98',
    recordings: [{ recording, detected: plant.detected, detectedBy: 'simulated detector', segments: [segment] }],
    settings: defaultMatchSettings,
  };
  const { right, judged } = scoreRecording({
    beats: ecg.beats,
    marks: plant.detected,
    unreadable: [],
    gaps: [],
    segments: [segment],
    samplingRateHz: rateHz,
    settings: defaultMatchSettings,
  }).total.counts;
  const bundle = Buffer.from(writeBundle({ session, logs: [] }, () => ecg.leads[0]!));
  return { session, ecg, plant, bundle, quality: (100 * right) / judged };
}

export const twoHours = () => nightWatch(7200);
