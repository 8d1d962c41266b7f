import { defaultMatchSettings } from '../../src/core/marks/match';
import type { Recording } from '../../src/core/recording/recording';
import type { Session } from '../../src/core/review/session';
import { simulateEcg } from '../../src/core/simulate/ecg';
import { plantMistakes } from '../../src/core/simulate/plant';
import { restingVariability } from '../../src/core/simulate/rhythm';
import { plainShape } from '../../src/core/simulate/waveform';
import { span } from '../../src/core/units';
import { writeBundle } from '../../src/formats/bundle/writer';

/**
 * Five minutes at about 80 beats a minute with exactly 20 planted mistakes, as a session bundle with its truth; or with
 * so many ectopic beats of each kind a minute and no mistakes; by one lead, or two.
 */
export function fiveMinutes(ectopicsPerMinute = 0, leadCount: 1 | 2 = 1, title = 'Five minutes at the radio') {
  const leads = [
    { name: 'A', angleDegrees: 55 },
    { name: 'B', angleDegrees: -10 },
  ].slice(0, leadCount);
  const seed = 'five minutes at the radio';
  const ecg = simulateEcg(
    {
      rhythm: {
        durationSeconds: 302,
        effort: [{ atSeconds: 0, heartRateBpm: 80, breathsPerMinute: 15, settlingSeconds: 30 }],
        variability: restingVariability,
        ventricularPerMinute: ectopicsPerMinute,
        supraventricularPerMinute: ectopicsPerMinute,
      },
      shape: plainShape,
      recorder: {
        samplingRateHz: 250,
        durationSeconds: 300,
        leads,
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
  const mistakes =
    ectopicsPerMinute > 0
      ? { missed: 0, wrongPeak: 0, extra: 0, shifted: 0 }
      : { missed: 7, wrongPeak: 7, extra: 6, shifted: 0 };
  const plant = plantMistakes(ecg, { stretches: [{ ...span(0, ecg.sampleCount), ...mistakes }] }, seed);
  const recording: Recording = {
    id: 'logger',
    recorder: 'adhesive logger',
    samplingRateHz: 250,
    sampleCount: ecg.sampleCount,
    startedAt: '2026-09-12T09:00:00',
    leads: leads.map(({ name }) => ({
      name,
      samplingRateHz: 250,
      sampleCount: ecg.sampleCount,
      format: 'int16',
      mvPerUnit: 0.005,
      offset: 0,
      fileUnit: 'mV',
    })),
    gaps: [],
    source: `simulated, seed ${seed}`,
  };
  const session: Session = {
    id: 'five-minutes',
    title,
    participant: 'V99',
    recordings: [
      {
        recording,
        detected: plant.detected,
        detectedBy: 'simulated detector',
        segments: [{ name: 'seated radio watch', ...span(0, ecg.sampleCount) }],
      },
    ],
    settings: defaultMatchSettings,
  };
  const bundle = Buffer.from(writeBundle({ session, logs: [] }, (_, lead) => ecg.leads[lead]!));
  return { session, ecg, plant, bundle };
}
