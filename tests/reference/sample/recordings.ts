import { detectBeats } from '../../../src/core/detector/detect';
import { signalFeatures } from '../../../src/core/detector/suspicion/features';
import { suspicions } from '../../../src/core/detector/suspicion/suspicion';
import type { Marks } from '../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../src/core/marks/match';
import { randomFrom } from '../../../src/core/random';
import type { Segment } from '../../../src/core/recording/recording';
import { type StretchCount, stretchCounter } from '../../../src/core/sample/count';
import { boundsOf, cutIntoStretches, summedSuspicion } from '../../../src/core/sample/stretches';
import { scoreRecording } from '../../../src/core/score/score';
import { type Ecg, simulateEcg } from '../../../src/core/simulate/ecg';
import { plantMistakes } from '../../../src/core/simulate/plant';
import { restingVariability } from '../../../src/core/simulate/rhythm';
import { plainShape } from '../../../src/core/simulate/waveform';
import { type Span, span } from '../../../src/core/units';

const rateHz = 128;
const hourSeconds = 3600;
const stretchSeconds = 10;

/** Heart rate of each hour of the day, from midnight. */
const dayBpm = [56, 54, 53, 52, 52, 54, 60, 72, 82, 84, 80, 78, 80, 84, 82, 80, 88, 96, 120, 92, 78, 70, 62, 58];

/** What a sample is drawn from, with what every stretch holds. */
export interface CountedRecording {
  readonly bounds: readonly number[];
  readonly counts: readonly StretchCount[];
  /** Summed suspicion of each stretch. */
  readonly suspicion: Float64Array;
  /** True share of right intervals. */
  readonly quality: number;
}

function simulatedHour(hour: number, seed: string): Ecg {
  const random = randomFrom(`${seed}/${hour}/noise`);
  const noise = Array.from({ length: 14 }, () => {
    const from = random.between(10, hourSeconds - 60);
    const kind = random.uniform() < 0.7 ? ('muscle' as const) : ('motion' as const);
    return { kind, fromSeconds: from, toSeconds: from + random.between(4, 40), levelMv: random.between(0.05, 0.35) };
  });
  const bpm = dayBpm[hour]!;
  const effort = [{ atSeconds: 0, heartRateBpm: bpm, breathsPerMinute: 12 + bpm / 12, settlingSeconds: 30 }];
  return simulateEcg(
    {
      rhythm: {
        durationSeconds: hourSeconds,
        effort,
        variability: restingVariability,
        ventricularPerMinute: 1,
        supraventricularPerMinute: 2 / 3,
      },
      shape: plainShape,
      recorder: {
        samplingRateHz: rateHz,
        durationSeconds: hourSeconds,
        leads: [{ name: 'A', angleDegrees: 55 }],
        mvPerUnit: 0.005,
        fullScaleMv: 5,
        mainsHz: 50,
        floorMv: 0.01,
        startSeconds: 0,
        driftPpm: 0,
        noise,
      },
    },
    `${seed}/${hour}`,
  );
}

/** A day in hours, so that one quality after the other can be planted in the same signal. */
export function simulatedDay(seed: string): readonly Ecg[] {
  return dayBpm.map((_, hour) => simulatedHour(hour, seed));
}

/**
 * A day of marks of about the quality wanted: missed beats, alone and in runs, wrong peaks, shifted and extra marks, likelier
 * in noise; the worse, the longer the runs. Counted and suspected by the code under test, hour by hour.
 */
export function plantedDay(day: readonly Ecg[], quality: number, seed: string): CountedRecording {
  const longestRun = Math.ceil(1 + 150 * (1 - quality));
  // Mistakes an interval: how many it takes is found by planting once and looking what came of it.
  const tried = day.map((ecg, hour) => countedHour(ecg, plantedHour(ecg, 1 - quality, longestRun, `${seed}/${hour}`)));
  const mistakes = (1 - quality) ** 2 / (1 - qualityOf(tried.flatMap(h => h.counts)));
  const hours = day.map((ecg, hour) => {
    const detected = plantedHour(ecg, mistakes, longestRun, `${seed}/${hour}`);
    const { stretches, counts } = countedHour(ecg, detected);
    return { counts, ...suspectedHour(ecg, detected, stretches) };
  });
  const counts = hours.flatMap(h => h.counts);
  return {
    bounds: hours.flatMap(h => h.bounds),
    counts,
    suspicion: Float64Array.from(hours.flatMap(h => [...h.suspicion])),
    quality: qualityOf(counts),
  };
}

function qualityOf(counts: readonly StretchCount[]): number {
  const sum = (of: (c: StretchCount) => number) => counts.reduce((total, c) => total + of(c), 0);
  return 1 - sum(c => c.errors) / sum(c => c.intervals);
}

function plantedHour(ecg: Ecg, mistakes: number, longestRun: number, seed: string): Marks {
  const random = randomFrom(`${seed}/counts`);
  const count = (share: number) => Math.floor(mistakes * ecg.beats.length * share + random.uniform());
  const stretch = {
    ...span(0, ecg.sampleCount),
    missed: count(0.4),
    wrongPeak: count(0.2),
    shifted: count(0.2),
    extra: count(0.2),
  };
  return plantMistakes(ecg, { stretches: [stretch], noiseWeight: 8, longestRun }, seed).detected;
}

function countedHour(ecg: Ecg, detected: Marks) {
  const whole: Segment = { name: 'hour', ...span(0, ecg.sampleCount) };
  const score = scoreRecording({
    beats: ecg.beats,
    marks: detected,
    unreadable: ecg.unreadable,
    gaps: [],
    segments: [whole],
    samplingRateHz: rateHz,
    settings: defaultMatchSettings,
  });
  const stretches = cutIntoStretches([whole], rateHz, stretchSeconds);
  return { stretches, counts: stretches.map(s => stretchCounter(score, [whole])(s)!) };
}

function suspectedHour(ecg: Ecg, detected: Marks, stretches: readonly Span[]) {
  const words = ecg.leads[0]!;
  const second = detectBeats(words, rateHz);
  const found = suspicions({
    features: signalFeatures(words, rateHz),
    marks: detected,
    second: second.samples,
    secondChance: second.probability,
    secondUnsure: second.unsure,
    gaps: [],
    unreadable: [],
  });
  return {
    bounds: boundsOf(stretches, detected, second.samples, rateHz),
    suspicion: summedSuspicion(stretches, found),
  };
}
