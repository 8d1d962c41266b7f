import type { LimitsOfAgreement } from '../../core/agreement/bland-altman';
import type { Equivalence } from '../../core/agreement/equivalence';
import type { RegressionLimits } from '../../core/agreement/regression-limits';
import { detectedMeasures } from '../../core/report/pairs/as-detected';
import type { DetectedRow } from '../../core/report/pairs/detected-agreement';
import { type AgreementRow, agreementMeasures } from '../../core/report/pairs/recorder-agreement';
import type { ClockFacts } from '../../core/report/pairs/recorder-pairs';
import type { ReportData } from '../../core/report/report';
import { type Column, type DataTable, dataTable } from './column';
import { allActivities, booted, ends, notComputableBecause, reasonOf, sessionAndVolunteer } from './shared-columns';

type Known<T> = Extract<T, { readonly value: number }>;
/** The part of a result that is there when it was computed. */
const known = <T extends { readonly value: number | null }>(result: T): Known<T> | null =>
  result.value === null ? null : (result as Known<T>);

type Detected = DetectedRow & { readonly first: string; readonly second: string | null };

const limitsOfAgreement = (r: Pick<DetectedRow, 'blandAltman'>): LimitsOfAgreement | null => known(r.blandAltman);
const regression = (r: DetectedRow): RegressionLimits | null => known(r.regression);
const equivalence = (r: DetectedRow): Equivalence | null => known(r.equivalence);

const limitWords = { bias: 'mean difference', lower: 'lower 95 % limit', upper: 'upper 95 % limit' } as const;

const detectedColumns: readonly Column<Detected>[] = [
  ['first', 'text', r => r.first, 'recorder as detected'],
  ['second', 'text', r => r.second ?? 'reviewed', 'what is subtracted: the reviewed beats, or a recorder as detected'],
  ['measure', 'text', r => detectedMeasures[r.measure].label, 'what is compared'],
  ['unit', 'text', r => detectedMeasures[r.measure].unit, 'unit of the measure'],
  ['activity', 'text', r => allActivities(r.activity), 'activity of the protocol; all: every activity together'],
  ['volunteers', 'count', r => r.volunteers, 'volunteers with a pair of values'],
  ['pairs', 'count', r => r.pairs, 'pairs of values'],
  ['without_partner', 'count', r => r.unpaired, 'values that one side has and the other has not'],
  ...booted<Detected>('bias', 'asMeasure', r => r.bias, 'mean difference, first less second'),
  ...booted<Detected>('lower', 'asMeasure', r => r.lower, 'lower 95 % limit of agreement'),
  ...booted<Detected>('upper', 'asMeasure', r => r.upper, 'upper 95 % limit of agreement'),
  ...booted<Detected>('mae', 'asMeasure', r => r.meanAbsoluteError, 'mean absolute error'),
  ...booted<Detected>('mape_percent', 'percent', r => r.meanAbsolutePercentageError, 'mean absolute percentage error'),
  ...booted<Detected>('slope', 'number', r => r.slope, 'change of the difference for one unit of the mean of both'),
  ...booted<Detected>('concordance', 'number', r => r.concordance, 'concordance for repeated measures'),
  ...(['bias', 'lower', 'upper'] as const).flatMap(what =>
    ends<Detected>(
      `${what}_mover`,
      'asMeasure',
      r => limitsOfAgreement(r)?.[`${what}Interval`],
      `${limitWords[what]} by MOVER on the mixed model`,
    ),
  ),
  ['bias_at_zero', 'asMeasure', r => regression(r)?.biasAtZero ?? null, 'regression limits: difference at a mean of 0'],
  [
    'half_width_at_zero',
    'asMeasure',
    r => regression(r)?.halfWidthAtZero ?? null,
    'regression limits: half their distance at a mean of 0',
  ],
  [
    'half_width_slope',
    'number',
    r => regression(r)?.halfWidthSlope ?? null,
    'regression limits: change of half their distance for one unit of the mean',
  ],
  ['margin', 'asMeasure', r => equivalence(r)?.margin ?? null, 'largest bias that counts as none, named by the study'],
  ...ends<Detected>('bias', 'asMeasure', r => equivalence(r)?.interval90, '90 % interval of the bias').map(
    ([name, ...rest]): Column<Detected> => [`${name}90`, ...rest],
  ),
  ['equivalence_p', 'number', r => equivalence(r)?.p ?? null, 'larger p value of the two one-sided tests'],
  notComputableBecause(r => r.blandAltman),
];

export const detectedCsv = ({ asDetected }: ReportData): DataTable =>
  dataTable(
    'marks as detected against reviewed beats or another recorder, mistakes included',
    detectedColumns,
    asDetected.flatMap(({ first, second, rows }) => rows.map(r => ({ first, second, ...r }))),
  );

type Conditional = AgreementRow & { readonly first: string; readonly second: string };

const limitColumns: readonly Column<Conditional>[] = (['bias', 'lower', 'upper'] as const).flatMap(what => [
  [
    what,
    'asMeasure',
    r => limitsOfAgreement(r)?.[what === 'bias' ? 'value' : what] ?? null,
    limitWords[what],
  ] satisfies Column<Conditional>,
  ...ends<Conditional>(what, 'asMeasure', r => limitsOfAgreement(r)?.[`${what}Interval`], limitWords[what]),
]);

const conditionalColumns: readonly Column<Conditional>[] = [
  ['first', 'text', r => r.first, 'recorder whose value comes first'],
  ['second', 'text', r => r.second, 'recorder whose value is subtracted'],
  ['measure', 'text', r => agreementMeasures[r.measure], 'what is compared, with its unit'],
  ['activity', 'text', r => allActivities(r.activity), 'activity of the protocol; all: every activity together'],
  ['pairs', 'count', r => r.pairs, 'pairs of values'],
  ['left_out_percent', 'percent', r => r.leftOut.value, 'reviewed intervals that are in no pair'],
  ['volunteers', 'count', r => r.volunteers, 'volunteers with a pair of values'],
  ...limitColumns,
  ['sd', 'asMeasure', r => limitsOfAgreement(r)?.sd ?? null, 'standard deviation of the differences, all sources'],
  ['within_sd', 'asMeasure', r => limitsOfAgreement(r)?.withinSd ?? null, 'the same within volunteers'],
  ['between_sd', 'asMeasure', r => limitsOfAgreement(r)?.betweenSd ?? null, 'the same between volunteers'],
  ...booted<Conditional>('mae', 'asMeasure', r => r.meanAbsoluteError, 'mean absolute error'),
  ...booted<Conditional>(
    'mape_percent',
    'percent',
    r => r.meanAbsolutePercentageError,
    'mean absolute percentage error, of the second recorder',
  ),
  ...booted<Conditional>('concordance', 'number', r => r.concordance, 'Lin’s concordance'),
  ...booted<Conditional>('icc21', 'number', r => r.icc21, 'ICC(2,1)'),
  ...booted<Conditional>('icc31', 'number', r => r.icc31, 'ICC(3,1)'),
  notComputableBecause(r => r.blandAltman),
];

export const agreementCsv = ({ agreement }: ReportData): DataTable =>
  dataTable(
    'intervals that both recorders have, mistakes left out',
    conditionalColumns,
    agreement.flatMap(({ first, second, rows }) => rows.map(r => ({ first, second, ...r }))),
  );

const clockColumns: readonly Column<ClockFacts>[] = [
  ...sessionAndVolunteer,
  ['first', 'text', c => c.first, 'recorder whose clock is the reference'],
  ['second', 'text', c => c.second, 'recorder whose clock is told on it'],
  ['offset_s', 'seconds', c => c.clock?.offsetSeconds ?? null, 'time on the second clock at 0 on the first'],
  ['drift_ppm', 'ppm', c => c.clock?.driftPpm ?? null, 'how much faster the second clock counts'],
  ['from', 'text', c => c.clock?.from ?? '', 'how the clock was found'],
  ['pairs', 'count', c => c.pairs, 'beats of both within 50 ms of the line'],
  ['residual_sd_ms', 'ms', c => c.residualSdMs, 'robust standard deviation of what the line leaves'],
  ['drift_error_ppm', 'ppm', c => c.driftErrorPpm, 'half the 95 % interval of a found drift, residuals independent'],
  ['end_error_ms', 'ms', c => c.endErrorMs, 'what that adds up to at the far end of the recording'],
  [
    'not_computable',
    'text',
    c => reasonOf({ value: c.clock ? 0 : null, reason: c.reason ?? '' }),
    'why there is no clock',
  ],
];

export const clocksCsv = ({ clocks }: ReportData): DataTable =>
  dataTable('reviewed beats of both recorders', clockColumns, clocks);
