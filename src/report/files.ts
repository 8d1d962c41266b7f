import { type HrvEffect, seriesNames } from '../core/report/hrv-effects';
import { hrvMeasures } from '../core/report/hrv-measures';
import type { ReportData } from '../core/report/report';
import { lookedAtWords } from '../core/review/looked-at';
import type { Estimate } from '../core/score/result';
import { type Cell, csvText } from '../formats/csv/csv';
import { agreementCsv, detectedCsv } from './agreement-csv';
import { all, bootCells, bootHead, limits, reasonOf } from './csv-cells';
import { figureSvg, tableCsv } from './figures/figure';
import { mistakeNames } from './figures/mistakes-figure';
import { reportHtml } from './html';
import { allFigures, reportFigures } from './report-figures';
import { settingsTable } from './tables';

/** One file of a report, as text. Nothing of it depends on when or where it was written. */
export interface ReportFile {
  readonly path: string;
  readonly type: 'text/html' | 'application/json' | 'text/csv' | 'image/svg+xml';
  readonly text: string;
}

/**
 * The report with its machine-readable copy: report.json with every number and setting, tidy tables as CSV, each figure
 * as SVG with the data behind it, and report.html. What is drawn but in no table of numbers (curves, signal of the
 * examples) is in the CSV files only.
 */
export function reportFiles(data: ReportData): ReportFile[] {
  const figures = reportFigures(data);
  const csv = (name: string, text: string): ReportFile => ({ path: `${name}.csv`, type: 'text/csv', text });
  return [
    { path: 'report.html', type: 'text/html', text: reportHtml(data, figures) },
    { path: 'report.json', type: 'application/json', text: reportJson(data) },
    csv('segments', segmentsCsv(data)),
    csv('quality', qualityCsv(data)),
    csv('quality-by-volunteer', volunteersCsv(data)),
    csv('mistakes', mistakesCsv(data)),
    csv('differences', differencesCsv(data)),
    csv('agreement-as-detected', detectedCsv(data)),
    csv('agreement', agreementCsv(data)),
    csv('clocks', clocksCsv(data)),
    csv('raters', ratersCsv(data)),
    csv('hrv', hrvCsv(data)),
    csv('hrv-series', hrvSeriesCsv(data)),
    csv('tachograms', tachogramsCsv(data)),
    csv('spectra', spectraCsv(data)),
    csv('planning', planningCsv(data)),
    csv('audit', auditCsv(data)),
    csv('settings', tableCsv(settingsTable(data))),
    ...allFigures(figures).flatMap((figure): ReportFile[] => [
      { path: `figures/${figure.id}.svg`, type: 'image/svg+xml', text: figureSvg(figure, true) },
      csv(`figures/${figure.id}`, tableCsv(figure.data)),
    ]),
  ];
}

/** Every number, without the curves and the signal. */
export function reportJson({ curves: _, agreement, examples, ...rest }: ReportData): string {
  const plain = {
    ...rest,
    agreement: agreement.map(({ points: __, ...pair }) => pair),
    examples: examples.map(({ millivolts: __, ...strip }) => strip),
  };
  return `${JSON.stringify(plain, null, 1)}\n`;
}

function segmentsCsv({ segments }: ReportData): string {
  const head =
    'session,volunteer,recorder,activity,review,start_s,end_s,judged,right,lost,lost_unreadable,lost_no_signal,wrong_by_missed,wrong_by_wrong_peak,wrong_by_extra,missed,wrong_peak,extra,coverage_percent,looked_at_by,signed_off,sign_off_reason,other_trace_used';
  return csvText(
    head.split(','),
    segments.map(({ counts: c, ...s }): Cell[] => [
      s.session,
      s.volunteer,
      s.recorder,
      s.activity,
      s.source,
      s.startSeconds,
      s.endSeconds,
      c.judged,
      c.right,
      c.lost,
      c.lostUnreadable,
      c.lostNoSignal,
      c.wrongByMissed,
      c.wrongByWrongPeak,
      c.wrongByExtra,
      c.missed,
      c.wrongPeak,
      c.extra,
      s.coverageShare === null ? null : 100 * s.coverageShare,
      lookedAtWords({ by: s.coverageBy }),
      s.signedOff,
      s.signOffReason,
      s.otherTraceUsed,
    ]),
  );
}

const estimateLimits = (e: Estimate) => limits(e.value === null ? null : e.interval);
const variantOf = (e: Estimate) => (e.value === null ? '' : (e.variant ?? ''));

function qualityCsv({ numbers }: ReportData): string {
  const head = [
    'recorder',
    'activity',
    'volunteers',
    'right',
    'judged',
    'lost',
    'quality_percent',
    'clustered_low',
    'clustered_high',
    'jackknife_low',
    'jackknife_high',
    'jackknife_variant',
    'bootstrap_t_low',
    'bootstrap_t_high',
    ...bootHead('pooled_percent'),
    'sd_percent',
    ...bootHead('mean_percent'),
    'not_computable',
  ];
  return csvText(
    head,
    numbers.quality.map((q): Cell[] => [
      q.recorder,
      all(q.activity),
      q.volunteers,
      q.right,
      q.judged,
      q.lost,
      q.pooled.value,
      ...estimateLimits(q.pooledClustered),
      ...estimateLimits(q.pooledJackknife),
      variantOf(q.pooledJackknife),
      ...estimateLimits(q.pooledBootstrapT),
      ...bootCells(q.pooledBootstrap),
      q.sd.value,
      ...bootCells(q.meanBootstrap),
      reasonOf(q.pooled),
    ]),
  );
}

function volunteersCsv({ numbers }: ReportData): string {
  return csvText(
    ['recorder', 'activity', 'volunteer', 'quality_percent', 'intervals', 'not_computable'],
    numbers.quality.flatMap(q =>
      q.perVolunteer.map((v): Cell[] => [
        q.recorder,
        all(q.activity),
        v.volunteer,
        v.quality.value,
        v.quality.value === null ? null : v.quality.n,
        reasonOf(v.quality),
      ]),
    ),
  );
}

function mistakesCsv({ numbers }: ReportData): string {
  return csvText(
    ['recorder', 'activity', 'kind', 'intervals', 'percent_of_mistakes', 'percent_of_all'],
    numbers.quality.flatMap(q =>
      q.mistakes.map((m): Cell[] => [
        q.recorder,
        all(q.activity),
        mistakeNames[m.kind],
        m.intervals,
        m.ofMistakes.value,
        m.ofAll.value,
      ]),
    ),
  );
}

function differencesCsv({ numbers }: ReportData): string {
  return csvText(
    [
      'first',
      'second',
      'activity',
      'volunteers',
      'clustered_low',
      'clustered_high',
      'jackknife_low',
      'jackknife_high',
      'bootstrap_t_low',
      'bootstrap_t_high',
      ...bootHead('pooled_points'),
      'sd_points',
      ...bootHead('mean_points'),
      'not_computable',
    ],
    numbers.differences.map((d): Cell[] => [
      d.first,
      d.second,
      all(d.activity),
      d.volunteers,
      ...estimateLimits(d.pooledClustered),
      ...estimateLimits(d.pooledJackknife),
      ...estimateLimits(d.pooledBootstrapT),
      ...bootCells(d.pooledBootstrap),
      d.sd.value,
      ...bootCells(d.meanBootstrap),
      reasonOf(d.pooledBootstrap),
    ]),
  );
}

function clocksCsv({ clocks }: ReportData): string {
  return csvText(
    [
      'session',
      'volunteer',
      'first',
      'second',
      'offset_s',
      'drift_ppm',
      'from',
      'pairs',
      'residual_sd_ms',
      'not_computable',
    ],
    clocks.map((c): Cell[] => [
      c.session,
      c.volunteer,
      c.first,
      c.second,
      c.clock?.offsetSeconds ?? null,
      c.clock?.driftPpm ?? null,
      c.clock?.from ?? '',
      c.pairs,
      c.residualSdMs,
      c.reason ?? '',
    ]),
  );
}

function ratersCsv({ raters }: ReportData): string {
  const head =
    'session,volunteer,recorder,rater_a,rater_b,activity,beats_a,beats_b,agreed,placed_apart,only_a,only_b,f1,kappa,kappa_low,kappa_high,quality_a_percent,quality_b_percent,quality_difference_points,unreadable_jaccard';
  return csvText(
    head.split(','),
    raters.rows.map((r): Cell[] => [
      r.session,
      r.volunteer,
      r.recorder,
      r.raterA,
      r.raterB,
      all(r.activity),
      r.beatsA,
      r.beatsB,
      r.agreed,
      r.placedApart,
      r.onlyA,
      r.onlyB,
      r.f1.value,
      r.kappa.value,
      ...limits(r.kappa.value === null ? null : r.kappa.interval),
      r.qualityA.value,
      r.qualityB.value,
      r.qualityDifference.value,
      r.spanJaccard.value,
    ]),
  );
}

const effectHead = ['session', 'volunteer', 'recorder', 'activity'];
const effectCells = (e: HrvEffect): Cell[] => [e.session, e.volunteer, e.recorder, e.activity];

function hrvCsv({ hrv }: ReportData): string {
  return csvText(
    [
      ...effectHead,
      'measure',
      'unit',
      'as_detected',
      'as_reviewed',
      'without_non_sinus',
      'detected_less_reviewed',
      'not_computable',
    ],
    hrv.effects.flatMap(e =>
      hrvMeasures.map(({ key, label, unit }): Cell[] => {
        const m = e.measures.find(one => one.key === key)!;
        const reasons = seriesNames.flatMap(name => (m[name].value === null ? [`${name}: ${m[name].reason}`] : []));
        return [
          ...effectCells(e),
          label,
          unit,
          m.detected.value,
          m.reviewed.value,
          m.sinus.value,
          m.difference.value,
          reasons.join('; '),
        ];
      }),
    ),
  );
}

function hrvSeriesCsv({ hrv }: ReportData): string {
  return csvText(
    [
      ...effectHead,
      'series',
      'non_sinus_beats',
      'intervals',
      'readable_s',
      'left_out_unreadable',
      'left_out_non_sinus',
      'interpolated_breaks',
      'interpolated_s',
      'odd_intervals',
    ],
    hrv.effects.flatMap(e =>
      seriesNames.map((name): Cell[] => {
        const s = e.series[name];
        return [
          ...effectCells(e),
          name,
          e.nonSinusBeats,
          s.intervals,
          s.readableSeconds,
          s.leftOutUnreadable,
          s.leftOutNonSinus,
          s.interpolatedBreaks,
          s.interpolatedSeconds,
          s.oddIntervals,
        ];
      }),
    ),
  );
}

/** `without_non_sinus` says whether the interval stays in the third series. Times from the segment's start. */
function tachogramsCsv({ curves }: ReportData): string {
  function* rows(): Generator<Cell[]> {
    for (const { volunteer, recorder, activity, tachogram } of curves) {
      const kept = new Set(tachogram.sinus.seconds);
      for (const name of ['detected', 'reviewed'] as const) {
        const { seconds, rrMs } = tachogram[name];
        for (const [i, s] of seconds.entries()) {
          const stays = name === 'reviewed' ? kept.has(s) : null;
          yield [volunteer, recorder, activity, name, rounded(s), rounded(rrMs[i]!), stays];
        }
      }
    }
  }
  return csvText(['volunteer', 'recorder', 'activity', 'series', 'second', 'rr_ms', 'without_non_sinus'], rows());
}

function spectraCsv({ curves }: ReportData): string {
  function* rows(): Generator<Cell[]> {
    for (const { volunteer, recorder, activity, spectrum } of curves) {
      for (const name of seriesNames) {
        const one = spectrum[name];
        for (const [i, f] of (one?.frequenciesHz ?? []).entries())
          yield [volunteer, recorder, activity, name, f, rounded(one!.density[i]!)];
      }
    }
  }
  return csvText(['volunteer', 'recorder', 'activity', 'series', 'hz', 'ms2_per_hz'], rows());
}

/** Curves are for drawing: a microsecond is enough. */
const rounded = (v: number) => Math.round(v * 1e6) / 1e6;

function planningCsv({ numbers }: ReportData): string {
  return csvText(
    ['recorder', 'needed', 'volunteers', 'median_width_percent', 'share_within', 'not_computable'],
    numbers.planning.flatMap(({ recorder, plan }) =>
      plan.curve.map((p): Cell[] => [
        recorder,
        plan.volunteers.value,
        p.volunteers,
        p.medianWidthPercent,
        p.shareWithin,
        reasonOf(plan.volunteers),
      ]),
    ),
  );
}

function auditCsv({ audit }: ReportData): string {
  return csvText(
    ['session', 'volunteer', 'rater', 'role', 'finished', 'intent', 'entries'],
    audit.flatMap(a => {
      const counts: [string, number][] = [
        ...Object.entries(a.byIntent).sort(([x], [y]) => (x < y ? -1 : 1)),
        ['undone', a.undone],
        ['reopened', a.reopened],
        ['other trace used', a.otherTraceUsed],
        ['all', a.entries],
      ];
      return counts.map(([intent, n]): Cell[] => [a.session, a.volunteer, a.rater, a.role, a.finished, intent, n]);
    }),
  );
}
