import type { NnSeries } from '../hrv/nn';
import { type HrvSummary, hrvSummary } from '../hrv/summary';
import { mean, standardDeviation } from '../moments';
import type { Session } from '../review/session';
import { type Computed, notComputable } from '../score/result';
import { chiefMeasures, hrvMeasures } from './hrv-measures';
import type { SegmentSeries, SeriesName } from './hrv-series';
import type { SinusCheck } from './non-sinus';

export interface SeriesFacts {
  readonly intervals: number;
  readonly readableSeconds: number;
  readonly leftOutUnreadable: number;
  readonly leftOutNonSinus: number;
  /** Short breaks that the interpolation of the Welch spectrum ran through. */
  readonly interpolatedBreaks: number;
  readonly interpolatedSeconds: number;
  /** Intervals of an odd pattern; found and counted, not removed. */
  readonly oddIntervals: number;
}

export interface HrvMeasureEffect extends Readonly<Record<SeriesName, Computed>> {
  readonly key: string;
  /** As detected less as reviewed. */
  readonly difference: Computed;
}

/** What the mistakes do to one segment of one recorder on one volunteer. */
export interface HrvEffect {
  readonly session: string;
  readonly volunteer: string;
  readonly recorder: string;
  readonly activity: string;
  readonly nonSinusBeats: number;
  /** What the third series can be relied on by. */
  readonly sinusCheck: SinusCheck;
  readonly series: Readonly<Record<SeriesName, SeriesFacts>>;
  readonly measures: readonly HrvMeasureEffect[];
}

/** For drawing. Times in s from the segment's start. */
export interface HrvCurves {
  readonly volunteer: string;
  readonly recorder: string;
  readonly activity: string;
  readonly lengthSeconds: number;
  readonly tachogram: Readonly<Record<SeriesName, { readonly seconds: number[]; readonly rrMs: number[] }>>;
  /** Welch, up to 0.4 Hz; null where there is none. Density in ms^2 / Hz. */
  readonly spectrum: Readonly<
    Record<SeriesName, { readonly frequenciesHz: number[]; readonly density: number[] } | null>
  >;
}

export interface HrvOfSegment {
  readonly effect: HrvEffect;
  readonly curves: HrvCurves;
}

/** Of one segment as `seriesOfRecording` has it. */
export function hrvOfSegment(
  { id, participant }: Pick<Session, 'id' | 'participant'>,
  { recorder, segment, samplingRateHz, series, outliers, sinusCheck, nonSinusBeats }: SegmentSeries,
): HrvOfSegment {
  const { reason } = sinusCheck;
  const summaries = summariesOf(series, hrvSummary(series.reviewed, outliers));
  const startSeconds = segment.start / samplingRateHz;
  const names = { volunteer: participant, recorder, activity: segment.name };
  return {
    effect: { session: id, ...names, nonSinusBeats, sinusCheck, ...effectOf(summaries, reason) },
    curves: {
      ...names,
      lengthSeconds: (segment.end - segment.start) / samplingRateHz,
      tachogram: byName(name => tachogramOf(series[name], startSeconds)),
      spectrum: byName(name => (name === 'sinus' && reason !== null ? null : spectrumOf(summaries[name]))),
    },
  };
}

type Summaries = Readonly<Record<SeriesName, HrvSummary>>;

function byName<T>(of: (name: SeriesName) => T): Record<SeriesName, T> {
  return { detected: of('detected'), reviewed: of('reviewed'), sinus: of('sinus') };
}

/** Series that are the same are computed once: most recordings have no non-sinus beat, and some no mistake. */
function summariesOf(series: Readonly<Record<SeriesName, NnSeries>>, ofReviewed: HrvSummary): Summaries {
  return byName(name => (same(series[name], series.reviewed) ? ofReviewed : hrvSummary(series[name])));
}

function same(a: NnSeries, b: NnSeries): boolean {
  const alike = (x: ArrayLike<number>, y: ArrayLike<number>) => {
    for (let i = 0; i < x.length; i++) if (x[i] !== y[i]) return false;
    return x.length === y.length;
  };
  const counts = a.leftOutNonSinus === b.leftOutNonSinus && a.leftOutUnreadable === b.leftOutUnreadable;
  return (
    counts &&
    alike(a.intervalsMs, b.intervalsMs) &&
    alike(a.timesSeconds, b.timesSeconds) &&
    alike(a.adjacent, b.adjacent)
  );
}

/** `noSinus`: why there are no measures without non-sinus beats; null where there are. */
function effectOf(summaries: Summaries, noSinus: string | null): Pick<HrvEffect, 'series' | 'measures'> {
  return {
    series: byName(name => factsOf(summaries[name])),
    measures: hrvMeasures.map(({ key, of }) => {
      const values = byName(name =>
        name === 'sinus' && noSinus !== null ? notComputable(noSinus) : of(summaries[name]),
      );
      return { key, ...values, difference: differenceOf(values.detected, values.reviewed) };
    }),
  };
}

function factsOf(s: HrvSummary): SeriesFacts {
  return {
    intervals: s.intervals,
    readableSeconds: s.readableSeconds,
    leftOutUnreadable: s.leftOutUnreadable,
    leftOutNonSinus: s.leftOutNonSinus,
    interpolatedBreaks: s.welch.bridgedBreaks,
    interpolatedSeconds: s.welch.bridgedSeconds,
    oddIntervals: s.outliers.length,
  };
}

function differenceOf(detected: Computed, reviewed: Computed): Computed {
  if (detected.value === null) return notComputable(`as detected: ${detected.reason}`);
  if (reviewed.value === null) return notComputable(`as reviewed: ${reviewed.reason}`);
  return { value: detected.value - reviewed.value, n: Math.min(detected.n, reviewed.n) };
}

function tachogramOf({ timesSeconds, intervalsMs }: NnSeries, startSeconds: number) {
  const seconds: number[] = [];
  for (let i = 0; i < timesSeconds.length; i++) seconds.push(timesSeconds[i]! - startSeconds);
  return { seconds, rrMs: listOf(intervalsMs, intervalsMs.length) };
}

/** The first of some values as a plain list, ten times as fast as by their iterator. */
function listOf(values: Float64Array, count: number): number[] {
  const list: number[] = [];
  for (let i = 0; i < count; i++) list.push(values[i]!);
  return list;
}

function spectrumOf({ welch }: HrvSummary) {
  if (!welch.spectrum) return null;
  const { frequenciesHz, density } = welch.spectrum;
  const count = frequenciesHz.findIndex(f => f > 0.4 + 1e-9);
  const end = count < 0 ? frequenciesHz.length : count;
  return { frequenciesHz: listOf(frequenciesHz, end), density: listOf(density, end) };
}

/** One measure of one recorder in one activity, over the segments that have it both ways. */
export interface HrvSummaryRow {
  readonly recorder: string;
  readonly activity: string;
  readonly key: string;
  readonly segments: number;
  readonly notComputable: number;
  readonly detected: Computed;
  readonly reviewed: Computed;
  readonly sinus: Computed;
  readonly difference: Computed;
  readonly differenceSd: Computed;
  /** The difference that is largest in size, with its sign, and whose it is. */
  readonly largest: { readonly value: number; readonly volunteer: string } | null;
}

export function hrvSummaryTable(effects: readonly HrvEffect[], activities: readonly string[]): HrvSummaryRow[] {
  const recorders = [...new Set(effects.map(e => e.recorder))];
  return recorders.flatMap(recorder =>
    activities.flatMap(activity => {
      const rows = effects.filter(e => e.recorder === recorder && e.activity === activity);
      return rows.length === 0 ? [] : chiefMeasures.map(key => summaryRow(rows, recorder, activity, key));
    }),
  );
}

function summaryRow(effects: readonly HrvEffect[], recorder: string, activity: string, key: string): HrvSummaryRow {
  const all = effects.map(e => ({ volunteer: e.volunteer, ...e.measures.find(m => m.key === key)! }));
  const both = all.filter(m => m.difference.value !== null);
  const values = (name: SeriesName | 'difference') => both.flatMap(m => m[name].value ?? []);
  const differences = values('difference');
  const meanOf = (list: readonly number[], reason = 'no segment has it both ways'): Computed =>
    list.length > 0 ? { value: mean(list), n: list.length } : notComputable(reason);
  const largest = both.reduce<HrvSummaryRow['largest']>((most, m) => {
    const value = m.difference.value!;
    return most === null || Math.abs(value) > Math.abs(most.value) ? { value, volunteer: m.volunteer } : most;
  }, null);
  return {
    recorder,
    activity,
    key,
    segments: both.length,
    notComputable: all.length - both.length,
    detected: meanOf(values('detected')),
    reviewed: meanOf(values('reviewed')),
    sinus: meanOf(values('sinus'), 'no segment has it without non-sinus beats'),
    difference: meanOf(differences),
    differenceSd:
      differences.length > 1
        ? { value: standardDeviation(differences), n: differences.length }
        : notComputable('needs two segments'),
    largest,
  };
}
