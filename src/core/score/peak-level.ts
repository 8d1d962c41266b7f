import type { Marks } from '../marks/markset';
import { match } from '../marks/match';
import { normalise } from '../marks/spans';
import { mean } from '../moments';
import type { Span } from '../units';
import { type Computed, notComputable } from './result';

/** Beats on the peak, beats not on the peak, marks not on a peak. */
export interface PeakCounts {
  readonly truePositives: number;
  readonly falseNegatives: number;
  readonly falsePositives: number;
}

/** Fractions; n is the denominator. */
export interface PeakLevel {
  readonly sensitivity: Computed;
  readonly positivePredictiveValue: Computed;
  readonly f1: Computed;
  readonly detectionErrorRate: Computed;
}

/**
 * Se = TP / (TP + FN), +P = TP / (TP + FP) (ANSI/AAMI EC57); F1 = 2 TP / (2 TP + FN + FP), their harmonic mean;
 * detection error rate = (FN + FP) / beats, which may exceed 1.
 */
export function peakLevel({ truePositives: tp, falseNegatives: fn, falsePositives: fp }: PeakCounts): PeakLevel {
  const share = (part: number, whole: number, reason: string): Computed =>
    whole > 0 ? { value: part / whole, n: whole } : notComputable(reason);
  return {
    sensitivity: share(tp, tp + fn, 'no beat'),
    positivePredictiveValue: share(tp, tp + fp, 'no mark'),
    f1: share(2 * tp, 2 * tp + fn + fp, 'no beat and no mark'),
    detectionErrorRate: share(fn + fp, tp + fn, 'no beat'),
  };
}

export interface BeatByBeatRecord {
  readonly name: string;
  readonly beats: Marks;
  readonly marks: Marks;
  /** Unreadable spans and gaps. */
  readonly excluded: readonly Span[];
  readonly samplingRateHz: number;
}

export interface BeatByBeatSettings {
  /** EC57: 150. */
  readonly matchWindowMs: number;
  /** Left out at the start of each record, in s: 0, or 300 where a detector may learn for five minutes. */
  readonly learningPeriodSeconds: number;
}

export interface BeatByBeatTable {
  readonly method: string;
  readonly settings: BeatByBeatSettings;
  readonly records: readonly (PeakCounts & PeakLevel & { readonly name: string })[];
  /** All beats of all records together. */
  readonly gross: PeakCounts & PeakLevel;
  /** Unweighted mean over the records that have the value; n counts those records. */
  readonly average: PeakLevel;
}

/** Beat-by-beat table after the recommended practice ANSI/AAMI EC57, with gross totals and record averages. */
export function beatByBeatTable(
  records: readonly BeatByBeatRecord[],
  settings: BeatByBeatSettings = { matchWindowMs: 150, learningPeriodSeconds: 0 },
): BeatByBeatTable {
  const counts = records.map(record => beatByBeatCounts(record, settings));
  const gross = counts.reduce(
    (sum, c) => ({
      truePositives: sum.truePositives + c.truePositives,
      falseNegatives: sum.falseNegatives + c.falseNegatives,
      falsePositives: sum.falsePositives + c.falsePositives,
    }),
    { truePositives: 0, falseNegatives: 0, falsePositives: 0 },
  );
  const levels = counts.map(peakLevel);
  return {
    method: `ANSI/AAMI EC57 beat by beat, ${settings.matchWindowMs} ms window, first ${settings.learningPeriodSeconds} s left out`,
    settings,
    records: records.map(({ name }, i) => ({ name, ...counts[i]!, ...levels[i]! })),
    gross: { ...gross, ...peakLevel(gross) },
    average: {
      sensitivity: average(levels.map(l => l.sensitivity)),
      positivePredictiveValue: average(levels.map(l => l.positivePredictiveValue)),
      f1: average(levels.map(l => l.f1)),
      detectionErrorRate: average(levels.map(l => l.detectionErrorRate)),
    },
  };
}

/** Counts after the learning period. A mark after its end that belongs to a beat before it counts on neither side. */
function beatByBeatCounts(record: BeatByBeatRecord, settings: BeatByBeatSettings): PeakCounts {
  const { beats, marks, markOfBeat, beatOfMark } = match(
    record.beats,
    record.marks,
    normalise(record.excluded),
    record.samplingRateHz,
    { onPeakToleranceMs: settings.matchWindowMs, wrongPeakWindowMs: 0 },
  );
  const start = settings.learningPeriodSeconds * record.samplingRateHz;
  let truePositives = 0;
  let falseNegatives = 0;
  let falsePositives = 0;
  for (let k = 0; k < beats.length; k++) {
    if (beats[k]! < start) continue;
    if (markOfBeat[k] === -1) falseNegatives++;
    else truePositives++;
  }
  for (let j = 0; j < marks.length; j++) if (marks[j]! >= start && beatOfMark[j] === -1) falsePositives++;
  return { truePositives, falseNegatives, falsePositives };
}

function average(results: readonly Computed[]): Computed {
  const values = results.flatMap(r => (r.value === null ? [] : [r.value]));
  return values.length > 0 ? { value: mean(values), n: values.length } : notComputable('no record has a value');
}
