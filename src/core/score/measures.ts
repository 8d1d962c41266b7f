import type { MatchSettings } from '../marks/match';
import { mean, sortedQuantile, standardDeviation } from '../moments';
import { errorRunsMethod, runsInterval } from './error-runs';
import type { Computed, Interval } from './result';
import { type Counts, emptyCounts, type QualityEstimate, type RecordingScore, type SegmentScore } from './score';
import { wilsonInterval } from './wilson';

export interface Quality {
  /** 100 x right / (judged + lost), in percent; n = judged + lost. */
  readonly quality: Computed;
  /** 95 % interval of the quality in percent at the effective number of intervals; null with the quality. */
  readonly qualityInterval95: Interval | null;
  /** Wilson's, right only if every interval went wrong or right by itself; mistakes come in runs. */
  readonly qualityInterval95IfIndependent: Interval | null;
}

/** The numbers people read, each with its counts or the reason why there is none. */
export interface Measures extends Quality {
  /** 100 x right / judged. */
  readonly readableQuality: Computed;
  /** Share of the recorder's own intervals that are right, in percent. */
  readonly ownQuality: Computed;
  /** TP / (TP + FN), a fraction. */
  readonly sensitivity: Computed;
  /** TP / (TP + FP), a fraction. */
  readonly ppv: Computed;
  readonly f1: Computed;
  /** (FN + FP) / beats, a fraction. */
  readonly detectionErrorRate: Computed;
  readonly meanErrorMs: Computed;
  readonly sdErrorMs: Computed;
  /** 95th percentile of the absolute interval error; linear interpolation between order statistics (type 7). */
  readonly p95AbsErrorMs: Computed;
}

const missing = (reason: string): Computed => ({ value: null, reason });

function share(part: number, whole: number, scale: number, reason: string): Computed {
  return whole > 0 ? { value: (scale * part) / whole, n: whole } : missing(reason);
}

export function measures(score: SegmentScore): Measures {
  if (score.withheld !== undefined) return withheldMeasures(score.withheld);
  // Stretches are drawn with different weights: what was looked at is no picture of the rest.
  if (score.estimate) return { ...withheldMeasures(notFromSample), ...estimated(score.estimate) };
  const c = score.counts;
  return {
    ...qualityOf(score),
    readableQuality: share(c.right, c.judged, 100, noInterval(score)),
    ownQuality: share(c.ownRight, c.ownIntervals, 100, 'the recorder has no RR interval here'),
    sensitivity: share(c.onPeak, c.beats, 1, 'no readable beat'),
    ppv: share(c.onPeak, c.marks, 1, 'no detected mark outside unreadable spans'),
    f1: share(2 * c.onPeak, c.beats + c.marks, 1, 'no readable beat and no detected mark'),
    detectionErrorRate: share(c.beats - c.onPeak + c.offPeakMarks, c.beats, 1, 'no readable beat'),
    ...errorMeasures(score.intervalErrorsMs()),
  };
}

function withheldMeasures(reason: string): Measures {
  const none = missing(reason);
  return {
    quality: none,
    qualityInterval95: null,
    qualityInterval95IfIndependent: null,
    readableQuality: none,
    ownQuality: none,
    sensitivity: none,
    ppv: none,
    f1: none,
    detectionErrorRate: none,
    meanErrorMs: none,
    sdErrorMs: none,
    p95AbsErrorMs: none,
  };
}

/** Why only the quality is known of a sampled review. */
const notFromSample = 'needs a full review, and this one is a sample';

function estimated({ quality, interval95 }: QualityEstimate): Quality {
  return { quality, qualityInterval95: interval95, qualityInterval95IfIndependent: null };
}

/** The headline alone: the other measures sort every interval error, too much for each key on a long recording. */
export function qualityOf(score: SegmentScore): Quality {
  if (score.withheld !== undefined) return withheldMeasures(score.withheld);
  if (score.estimate) return estimated(score.estimate);
  const { right, judged, lost } = score.counts;
  const quality = lost === null ? missing('no readable beat') : share(right, judged + lost, 100, noInterval(score));
  const all = quality.value === null ? 0 : judged + (lost ?? 0);
  return {
    quality,
    qualityInterval95: inPercent(all > 0 ? runsInterval(right, all, score.errorRuns()) : null),
    qualityInterval95IfIndependent: inPercent(all > 0 ? wilsonInterval(right, all) : null),
  };
}

const inPercent = (interval: Interval | null): Interval | null => interval && [100 * interval[0], 100 * interval[1]];

function noInterval({ counts }: SegmentScore): string {
  return counts.beats === 0 ? 'no readable beat' : 'no pair of consecutive readable beats';
}

function errorMeasures(errors: Float64Array): Pick<Measures, 'meanErrorMs' | 'sdErrorMs' | 'p95AbsErrorMs'> {
  const n = errors.length;
  const none = missing('no right interval');
  if (n === 0) return { meanErrorMs: none, sdErrorMs: none, p95AbsErrorMs: none };
  return {
    meanErrorMs: { value: mean(errors), n },
    sdErrorMs: n < 2 ? missing('needs two right intervals') : { value: standardDeviation(errors), n },
    p95AbsErrorMs: { value: sortedQuantile(errors.map(Math.abs).sort(), 0.95), n },
  };
}

/** One row of results as JSON: what cannot be computed is null, with its reason under `reasons` (and first in `reason`). */
export type ScoreRow = Record<string, unknown> & { readonly name: string; readonly reason?: string };

export interface ScoreReport {
  readonly settings: Record<string, unknown>;
  readonly segments: readonly ScoreRow[];
  readonly total: ScoreRow;
}

export function scoreReport(score: RecordingScore): ScoreReport {
  return {
    settings: settingsRow(score.input.settings, score.input.samplingRateHz),
    segments: score.segments.map(scoreRow),
    total: scoreRow(score.total),
  };
}

function settingsRow(settings: MatchSettings, samplingRateHz: number): Record<string, unknown> {
  return { samplingRateHz, ...settings, qualityIntervalMethod: errorRunsMethod };
}

export function scoreRow(score: SegmentScore): ScoreRow {
  const { quality, qualityInterval95, qualityInterval95IfIndependent, readableQuality, ownQuality, ...rest } =
    measures(score);
  const computed: Record<string, Computed> = {
    qualityPercent: quality,
    readableQualityPercent: readableQuality,
    ownQualityPercent: ownQuality,
    ...rest,
  };
  const reasons: Record<string, string> = {};
  if (score.withheld === undefined && score.counts.lost === null) reasons['lostIntervals'] = 'no readable beat';
  for (const [key, result] of Object.entries(computed)) if (result.value === null) reasons[key] = result.reason;
  const value = (key: string) => computed[key]!.value;
  const c = score.withheld === undefined ? countsRow(score.counts) : nothingCounted;
  return {
    name: score.segment.name,
    startSample: score.segment.start,
    endSample: score.segment.end,
    beats: c.beats,
    detectedMarks: c.detectedMarks,
    missed: c.missed,
    wrongPeak: c.wrongPeak,
    extra: c.extra,
    refined: c.refined,
    judgedIntervals: c.judgedIntervals,
    lostIntervals: c.lostIntervals,
    lostToNoSignal: c.lostToNoSignal,
    rightIntervals: c.rightIntervals,
    qualityPercent: value('qualityPercent'),
    qualityInterval95,
    qualityInterval95IfIndependent,
    readableQualityPercent: value('readableQualityPercent'),
    ownIntervals: c.ownIntervals,
    ownRightIntervals: c.ownRightIntervals,
    ownQualityPercent: value('ownQualityPercent'),
    wrongByMissed: c.wrongByMissed,
    wrongByWrongPeak: c.wrongByWrongPeak,
    wrongByExtra: c.wrongByExtra,
    truePositives: c.truePositives,
    falseNegatives: c.falseNegatives,
    falsePositives: c.falsePositives,
    sensitivity: value('sensitivity'),
    ppv: value('ppv'),
    f1: value('f1'),
    detectionErrorRate: value('detectionErrorRate'),
    unreadableSeconds: c.unreadableSeconds,
    noSignalSeconds: c.noSignalSeconds,
    meanErrorMs: value('meanErrorMs'),
    sdErrorMs: value('sdErrorMs'),
    p95AbsErrorMs: value('p95AbsErrorMs'),
    ...(Object.keys(reasons).length > 0
      ? { reason: reasons['qualityPercent'] ?? Object.values(reasons)[0]!, reasons }
      : {}),
  };
}

type CountsRow = Record<keyof ReturnType<typeof countsRow>, number | null>;

function countsRow(c: Counts) {
  return {
    beats: c.beats,
    detectedMarks: c.marks,
    missed: c.missed,
    wrongPeak: c.wrongPeak,
    extra: c.extra,
    refined: c.refined,
    judgedIntervals: c.judged,
    lostIntervals: c.lost,
    lostToNoSignal: c.lostNoSignal,
    rightIntervals: c.right,
    ownIntervals: c.ownIntervals,
    ownRightIntervals: c.ownRight,
    wrongByMissed: c.wrongByMissed,
    wrongByWrongPeak: c.wrongByWrongPeak,
    wrongByExtra: c.wrongByExtra,
    truePositives: c.onPeak,
    falseNegatives: c.beats - c.onPeak,
    falsePositives: c.offPeakMarks,
    unreadableSeconds: c.unreadableSeconds,
    noSignalSeconds: c.noSignalSeconds,
  };
}

/** A count of nothing that was looked at is no count: null, so that it never reads as no mistake. */
const nothingCounted = Object.fromEntries(
  Object.keys(countsRow(emptyCounts)).map(key => [key, null]),
) as unknown as CountsRow;
