import type { HrvEffect, SeriesFacts } from '../../core/report/hrv-effects';
import { type HrvMeasure, hrvMeasures } from '../../core/report/hrv-measures';
import { type SeriesName, seriesNames } from '../../core/report/hrv-series';
import type { ReportData } from '../../core/report/report';
import { type Column, type DataTable, dataTable } from './column';
import { sessionAndVolunteer } from './shared-columns';

type OfActivity = { readonly recorder: string; readonly activity: string };
const recorderAndActivity: readonly Column<OfActivity>[] = [
  ['recorder', 'text', r => r.recorder, 'recorder under test'],
  ['activity', 'text', r => r.activity, 'activity of the protocol'],
];

const seriesWords = 'detected, reviewed, or sinus: reviewed without beats that are not sinus';

interface MeasureRow extends OfActivity {
  readonly session: string;
  readonly volunteer: string;
  readonly measure: HrvMeasure;
  readonly values: HrvEffect['measures'][number];
}

const measureColumns: readonly Column<MeasureRow>[] = [
  ...sessionAndVolunteer,
  ...recorderAndActivity,
  ['measure', 'text', r => r.measure.label, 'heart rate or HRV measure'],
  ['unit', 'text', r => r.measure.unit, 'unit of the measure'],
  ['as_detected', 'asMeasure', r => r.values.detected.value, 'from the recorder’s marks'],
  ['as_reviewed', 'asMeasure', r => r.values.reviewed.value, 'from the reviewed beats'],
  ['without_non_sinus', 'asMeasure', r => r.values.sinus.value, 'from the reviewed beats that are sinus'],
  ['detected_less_reviewed', 'asMeasure', r => r.values.difference.value, 'what the mistakes change'],
  ['not_computable', 'text', reasonsOf, 'for each series without a value, why'],
];

function reasonsOf({ values }: MeasureRow): string {
  const reasons = seriesNames.flatMap(name => {
    const m = values[name];
    return m.value === null ? [`${name}: ${m.reason}`] : [];
  });
  return reasons.join('; ');
}

export const hrvCsv = ({ hrv }: ReportData): DataTable =>
  dataTable(
    'RR intervals of each series',
    measureColumns,
    hrv.effects.flatMap(e =>
      hrvMeasures.map(measure => ({ ...e, measure, values: e.measures.find(one => one.key === measure.key)! })),
    ),
  );

interface SeriesRow extends OfActivity {
  readonly session: string;
  readonly volunteer: string;
  readonly nonSinusBeats: number;
  readonly sinusCheck: HrvEffect['sinusCheck'];
  readonly name: SeriesName;
  readonly facts: SeriesFacts;
}

const seriesColumns: readonly Column<SeriesRow>[] = [
  ...sessionAndVolunteer,
  ...recorderAndActivity,
  ['series', 'text', r => r.name, seriesWords],
  ['non_sinus_beats', 'count', r => r.nonSinusBeats, 'beats taken as not sinus in the segment'],
  [
    'sinus_check',
    'text',
    r => r.sinusCheck.status,
    'whether the rater confirmed which beats are not sinus: confirmed, few odd intervals (measures shown unconfirmed), or not confirmed (measures not computable)',
  ],
  [
    'odd_percent',
    'percent',
    r => 100 * r.sinusCheck.oddShare,
    'share of the reviewed intervals that are odd, by which this was decided',
  ],
  ['intervals', 'count', r => r.facts.intervals, 'RR intervals of the series'],
  ['readable_s', 'seconds', r => r.facts.readableSeconds, 'time that these intervals cover'],
  ['left_out_unreadable', 'count', r => r.facts.leftOutUnreadable, 'intervals left out: unreadable or no signal'],
  ['left_out_non_sinus', 'count', r => r.facts.leftOutNonSinus, 'intervals left out: they touch a non-sinus beat'],
  ['interpolated_breaks', 'count', r => r.facts.interpolatedBreaks, 'breaks bridged for the Welch spectrum'],
  ['interpolated_s', 'seconds', r => r.facts.interpolatedSeconds, 'time of these breaks'],
  ['odd_intervals', 'count', r => r.facts.oddIntervals, 'intervals of an odd length, counted and kept'],
];

export const hrvSeriesCsv = ({ hrv }: ReportData): DataTable =>
  dataTable(
    'marks, gaps and unreadable stretches',
    seriesColumns,
    hrv.effects.flatMap(e => seriesNames.map(name => ({ ...e, name, facts: e.series[name] }))),
  );

interface IntervalRow extends OfActivity {
  readonly volunteer: string;
  readonly series: string;
  readonly second: number;
  readonly rrMs: number;
  readonly stays: boolean | null;
}

const volunteer: Column<{ readonly volunteer: string }> = [
  'volunteer',
  'text',
  r => r.volunteer,
  'code of the volunteer',
];

const tachogramColumns: readonly Column<IntervalRow>[] = [
  volunteer,
  ...recorderAndActivity,
  ['series', 'text', r => r.series, 'detected or reviewed'],
  ['second', 'seconds', r => rounded(r.second), 'end of the interval, from the start of the segment'],
  ['rr_ms', 'ms', r => rounded(r.rrMs), 'length of the interval'],
  ['without_non_sinus', 'flag', r => r.stays, 'of the reviewed: whether it stays when non-sinus beats are left out'],
];

function* intervalRows({ curves }: ReportData): Generator<IntervalRow> {
  for (const { volunteer: code, recorder, activity, tachogram } of curves) {
    const kept = new Set(tachogram.sinus.seconds);
    for (const series of ['detected', 'reviewed'] as const) {
      const { seconds, rrMs } = tachogram[series];
      for (const [i, second] of seconds.entries()) {
        const stays = series === 'reviewed' ? kept.has(second) : null;
        yield { volunteer: code, recorder, activity, series, second, rrMs: rrMs[i]!, stays };
      }
    }
  }
}

export const tachogramsCsv = (data: ReportData): DataTable =>
  dataTable('RR intervals of each series', tachogramColumns, intervalRows(data));

interface DensityRow extends OfActivity {
  readonly volunteer: string;
  readonly series: SeriesName;
  readonly hz: number;
  readonly density: number;
}

const spectrumColumns: readonly Column<DensityRow>[] = [
  volunteer,
  ...recorderAndActivity,
  ['series', 'text', r => r.series, seriesWords],
  ['hz', 'hz', r => r.hz, 'frequency'],
  ['ms2_per_hz', 'msSquaredPerHz', r => rounded(r.density), 'power density by Welch’s method'],
];

function* densityRows({ curves }: ReportData): Generator<DensityRow> {
  for (const { volunteer: code, recorder, activity, spectrum } of curves) {
    for (const series of seriesNames) {
      const one = spectrum[series];
      for (const [i, hz] of (one?.frequenciesHz ?? []).entries())
        yield { volunteer: code, recorder, activity, series, hz, density: one!.density[i]! };
    }
  }
}

export const spectraCsv = (data: ReportData): DataTable =>
  dataTable('RR intervals of each series', spectrumColumns, densityRows(data));

/** Curves are for drawing: a microsecond is enough. */
const rounded = (v: number) => Math.round(v * 1e6) / 1e6;
