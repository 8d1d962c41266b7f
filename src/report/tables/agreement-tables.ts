import { detectedMeasures } from '../../core/report/pairs/as-detected';
import type { AgreementOfPair, DetectedComparison } from '../../core/report/pairs/compared-recorders';
import { type DetectedRow, detectedMethods } from '../../core/report/pairs/detected-agreement';
import type { AgreementRow } from '../../core/report/pairs/recorder-agreement';
import type { Interval } from '../../core/score/result';
import { fixed, interval, type NoteTaker, sentence, withInterval } from '../numbers';
import { type Boot, notAdjusted } from './quality-tables';
import { activityColumn, type PrintedColumn, type ReportTable, table } from './table';

const bootCell = (b: Boot, places: number, note: NoteTaker) =>
  b.value === null ? note(b.reason) : withInterval(b.value, b.expandedBca, places);

type Compared = DetectedRow & Pick<DetectedComparison, 'first' | 'second'>;

/** The headline: each comparison over all activities, every mistake included. */
export function detectedHeadline(comparisons: readonly DetectedComparison[]): ReportTable {
  const rows = comparisons.flatMap(({ first, second, rows: own }) =>
    own.filter(r => r.activity === null).map((r): Compared => ({ ...r, first, second })),
  );
  const [measure, , ...rest] = detectedLimits;
  return table<Compared>(
    {
      id: 'as-detected',
      caption: 'Mistakes included, all activities: bias and 95 % limits of agreement',
      rowHeads: 2,
      notes: [`${limitsNote(rows)} Single activities are in the supplement. ${notAdjusted}`],
    },
    [['comparison', r => `${r.first} less ${r.second ?? 'reviewed beats'}`], measure!, ...rest],
    rows,
  );
}

/** Every mistake included. One table of bias and limits and one of errors for each comparison. */
export function detectedTables(comparison: DetectedComparison, n: number): ReportTable[] {
  return [limitsTable(comparison, n), errorsTable(comparison, n)];
}

function whoOf({ first, second }: DetectedComparison): string {
  return second === null ? `${first} as detected less its reviewed beats` : `${first} less ${second}, both as detected`;
}

const detectedMeasure: PrintedColumn<DetectedRow> = [
  'measure',
  r => `${detectedMeasures[r.measure].label}, ${detectedMeasures[r.measure].unit}`,
];
const placesOf = (r: DetectedRow) => detectedMeasures[r.measure].places;

/** What the bias and limits are, and whose interval is shown. */
function limitsNote(rows: readonly DetectedRow[]): string {
  const isStarred = rows.some(
    r =>
      r.blandAltman.value !== null && [r.bias, r.lower, r.upper].some(boot => boot.value === null || !boot.expandedBca),
  );
  const shown = `shown are the bootstrap intervals${isStarred ? ', with an asterisk those by MOVER' : ''}`;
  return sentence(`${detectedMethods.limits}; ${shown}`);
}

/** Limits of three volunteers and fewer have no bootstrap interval worth the name; MOVER stands in, and is named. */
function limitCell(r: DetectedRow, value: number, boot: Boot, mover: Interval): string {
  return boot.value !== null && boot.expandedBca
    ? withInterval(value, boot.expandedBca, placesOf(r))
    : `${withInterval(value, mover, placesOf(r))} *`;
}

const detectedLimits: readonly PrintedColumn<DetectedRow>[] = [
  detectedMeasure,
  activityColumn,
  ['pairs (without partner)', r => `${r.pairs} (${r.unpaired})`],
  [
    'bias',
    (r, note) => {
      const b = r.blandAltman;
      return b.value === null ? note(b.reason) : limitCell(r, b.value, r.bias, b.biasInterval);
    },
  ],
  ...(['lower', 'upper'] as const).map(
    (what): PrintedColumn<DetectedRow> => [
      `${what} limit`,
      r => {
        const b = r.blandAltman;
        return b.value === null ? '–' : limitCell(r, b[what], r[what], b[`${what}Interval`]);
      },
    ],
  ),
  ['bias changes by, per unit', (r, note) => (r.blandAltman.value === null ? '–' : bootCell(r.slope, 3, note))],
];

function limitsTable(comparison: DetectedComparison, n: number): ReportTable {
  return table(
    {
      id: `as-detected-${n}`,
      caption: `${whoOf(comparison)}: bias and 95 % limits of agreement`,
      rowHeads: 2,
      notes: [
        `Mistakes included. ${limitsNote(comparison.rows)}`,
        `${sentence(detectedMethods.regression)} ${notAdjusted}`,
      ],
    },
    detectedLimits,
    comparison.rows,
  );
}

const detectedErrors: readonly PrintedColumn<DetectedRow>[] = [
  detectedMeasure,
  activityColumn,
  ['mean absolute error', (r, note) => bootCell(r.meanAbsoluteError, placesOf(r), note)],
  ['mean absolute error, %', (r, note) => bootCell(r.meanAbsolutePercentageError, 2, note)],
  ['repeated-measures concordance', (r, note) => bootCell(r.concordance, 3, note)],
];

const equivalenceColumn: PrintedColumn<DetectedRow> = [
  '90 % interval of the bias, margin, p',
  (r, note) => {
    const e = r.equivalence;
    if (e.value === null) return note(e.reason);
    const p = e.p < 0.001 ? '< 0.001' : fixed(e.p, 3);
    return `${interval(e.interval90, placesOf(r))}, ±${e.margin}, ${p}${e.equivalent ? ' equivalent' : ''}`;
  },
];

function errorsTable(comparison: DetectedComparison, n: number): ReportTable {
  const hasMargin = comparison.rows.some(r => r.equivalence.value !== null);
  return table(
    {
      id: `as-detected-errors-${n}`,
      caption: `${whoOf(comparison)}: errors and concordance`,
      rowHeads: 2,
      notes: [
        `Mistakes included. In brackets expanded BCa intervals. ${detectedMethods.concordance}.`,
        hasMargin ? `${detectedMethods.equivalence}.` : 'The study names no margin, so equivalence is not tested.',
      ],
    },
    hasMargin ? [...detectedErrors, equivalenceColumn] : detectedErrors,
    comparison.rows,
  );
}

const measures = {
  rr: { words: 'RR, ms', places: 1 },
  heartRate: { words: 'heart rate per 10 s, bpm', places: 2 },
  rmssd: { words: 'RMSSD, ms', places: 1 },
} as const;
const conditionalMeasure: PrintedColumn<AgreementRow> = ['measure', r => measures[r.measure].words];

const conditionalLimits: readonly PrintedColumn<AgreementRow>[] = [
  conditionalMeasure,
  activityColumn,
  ['pairs', r => String(r.pairs)],
  ['left out, %', r => (r.leftOut.value === null ? '–' : fixed(r.leftOut.value, 1))],
  [
    'bias',
    ({ measure, blandAltman: b }, note) =>
      b.value === null ? note(b.reason) : withInterval(b.value, b.biasInterval, measures[measure].places),
  ],
  ...(['lower', 'upper'] as const).map(
    (what): PrintedColumn<AgreementRow> => [
      `${what} limit`,
      ({ measure, blandAltman: b }) =>
        b.value === null ? '–' : withInterval(b[what], b[`${what}Interval`], measures[measure].places),
    ],
  ),
  [
    'SD within, between',
    ({ measure, blandAltman: b }) => {
      if (b.value === null || b.withinSd === null || b.betweenSd === null) return '–';
      return [b.withinSd, b.betweenSd].map(sd => fixed(sd, measures[measure].places)).join(', ');
    },
  ],
];

const conditionalErrors: readonly PrintedColumn<AgreementRow>[] = [
  conditionalMeasure,
  activityColumn,
  ['mean absolute error', (r, note) => bootCell(r.meanAbsoluteError, 2, note)],
  ['mean absolute error, %', (r, note) => bootCell(r.meanAbsolutePercentageError, 2, note)],
  ['concordance', (r, note) => bootCell(r.concordance, 3, note)],
  ['ICC(2,1)', (r, note) => bootCell(r.icc21, 3, note)],
  ['ICC(3,1)', (r, note) => bootCell(r.icc31, 3, note)],
];

export function agreementTables({ first, second, rows }: AgreementOfPair, n: number): ReportTable[] {
  const who = `Intervals that ${first} and ${second} have`;
  const note = `Differences are ${first} less ${second}. Conditional: mistakes of either recorder are left out, so this table cannot see them; the share left out is of the reviewed intervals of ${first}.`;
  const limits = { id: `agreement-${n}`, caption: `${who}: bias and 95 % limits` };
  const errors = { id: `errors-${n}`, caption: `${who}: errors and correlation` };
  return [
    table({ ...limits, rowHeads: 2, notes: [note] }, conditionalLimits, rows),
    table({ ...errors, rowHeads: 2, notes: ['In brackets expanded BCa intervals.'] }, conditionalErrors, rows),
  ];
}
