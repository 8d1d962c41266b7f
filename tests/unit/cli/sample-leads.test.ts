import { afterAll, expect, test } from 'vitest';
import { createDetector } from '../../../src/core/detector/detect';
import { createFeatureExtractor } from '../../../src/core/detector/suspicion/features';
import { suspicions } from '../../../src/core/detector/suspicion/suspicion';
import { marksFrom } from '../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../src/core/marks/match';
import type { Recording } from '../../../src/core/recording/recording';
import type { Session } from '../../../src/core/review/session';
import { planSample } from '../../../src/core/sample/plan';
import { simulateEcg } from '../../../src/core/simulate/ecg';
import { restingVariability } from '../../../src/core/simulate/rhythm';
import { plainShape } from '../../../src/core/simulate/waveform';
import { span } from '../../../src/core/units';
import { writeBundle } from '../../../src/formats/bundle/writer';
import { cli, scratch } from './run';

// The plan of the command line is that of the page, whose second opinion looks at all leads of one rate together.

const files = scratch();
afterAll(files.remove);

const rateHz = 128;
const ecg = simulateEcg(
  {
    rhythm: {
      durationSeconds: 122,
      effort: [{ atSeconds: 0, heartRateBpm: 70, breathsPerMinute: 14, settlingSeconds: 30 }],
      variability: restingVariability,
    },
    shape: plainShape,
    recorder: {
      samplingRateHz: rateHz,
      durationSeconds: 120,
      leads: [
        { name: 'A', angleDegrees: 55 },
        { name: 'B', angleDegrees: 10 },
      ],
      mvPerUnit: 0.005,
      fullScaleMv: 5,
      mainsHz: 50,
      floorMv: 0.004,
      startSeconds: 0,
      driftPpm: 0,
      noise: [],
    },
  },
  'two leads at rest',
);
const { sampleCount } = ecg;
// The electrode of the first lead is off for half a minute: its beats there can be seen on the second only.
const off = span(40 * rateHz, 70 * rateHz);
const words = ecg.leads.map((w, i) => (i === 0 ? w.slice().fill(0, off.start, off.end) : w));
const lead = {
  samplingRateHz: rateHz,
  sampleCount,
  format: 'int16',
  mvPerUnit: 0.005,
  offset: 0,
  fileUnit: 'mV',
} as const;
const recording: Recording = {
  id: 'logger',
  recorder: 'adhesive logger',
  samplingRateHz: rateHz,
  sampleCount,
  startedAt: '2026-09-12T22:00:00',
  leads: [
    { ...lead, name: 'A' },
    { ...lead, name: 'B' },
  ],
  gaps: [],
  source: 'simulated',
};
const detected = marksFrom([...ecg.beats].filter(b => b < off.start || b >= off.end));
const segment = { name: 'rest', ...span(0, sampleCount) };
const session: Session = {
  id: 'two-leads',
  title: 'Two leads',
  participant: 'V98',
  recordings: [{ recording, detected, detectedBy: 'the recorder', segments: [segment] }],
  settings: defaultMatchSettings,
};

/** Classes and bounds of the stretches when the second opinion comes from these leads. */
function planBy(leads: readonly number[]) {
  const detector = createDetector(rateHz, { gaps: [], zeroWords: leads.map(() => 0), leads: leads.length });
  detector.push(...leads.map(i => words[i]!));
  const { samples, probability, unsure } = detector.finish();
  const features = createFeatureExtractor(rateHz, sampleCount);
  features.push(words[leads[0]!]!);
  const suspected = suspicions({
    features: features.finish(),
    marks: detected,
    second: samples,
    secondChance: probability,
    secondUnsure: unsure,
    gaps: [],
    unreadable: [],
  });
  const { classes, bounds } = planSample({
    segment: null,
    seed: 7,
    stretchSeconds: 5,
    contextSeconds: 2,
    halfWidth: null,
    segments: [segment],
    samplingRateHz: rateHz,
    detected,
    second: samples,
    suspected,
  });
  return Array.from(classes, (c, i) => [c, bounds[i]]);
}

test('a sample is planned by all leads of one rate together, or by the one that is named', async () => {
  const file = files.write(
    'two-leads.zip',
    writeBundle({ session, logs: [] }, (_, i) => words[i]!),
  );
  const planOf = async (...args: string[]) => {
    const ran = await cli('sample', file, '--seed', '7', '--json', ...args);
    expect(ran, ran.err).toMatchObject({ code: 0 });
    return JSON.parse(ran.out).stretches.map((s: { class: number; u: number }) => [s.class, s.u]);
  };
  expect(await planOf()).toEqual(planBy([0, 1]));
  expect(await planOf('--lead', '1')).toEqual(planBy([0]));
  expect(planBy([0, 1])).not.toEqual(planBy([0]));
});
