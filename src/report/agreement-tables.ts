import { detectedMeasures } from '../core/report/as-detected';
import { detectedMethods } from '../core/report/detected-agreement';
import type { AgreementOfPair, DetectedComparison } from '../core/report/report';
import { fixed, interval, type NoteTaker, withInterval } from './numbers';
import { type Boot, notAdjusted } from './quality-tables';
import { activityName, type ReportTable, table } from './table';

const labelOf = (measure: keyof typeof detectedMeasures) =>
  `${detectedMeasures[measure].label}, ${detectedMeasures[measure].unit}`;

const bootCell = (b: Boot, places: number, note: NoteTaker) =>
  b.value === null ? note(b.reason) : withInterval(b.value, b.expandedBca, places);

/** The headline: every mistake included. One table of bias and limits and one of errors for each comparison. */
export function detectedTables(comparison: DetectedComparison, n: number): ReportTable[] {
  return [limitsTable(comparison, n), errorsTable(comparison, n)];
}

function whoOf({ first, second }: DetectedComparison): string {
  return second === null
    ? `${first} as detected against its reviewed beats`
    : `${first} against ${second}, both as detected`;
}

function limitsTable(comparison: DetectedComparison, n: number): ReportTable {
  return table(
    `as-detected-${n}`,
    `Mistakes included: ${whoOf(comparison)}, bias and 95 % limits of agreement with their intervals`,
    [
      'measure',
      'activity',
      'pairs (without partner)',
      'bias',
      'lower limit',
      'upper limit',
      'bias changes by, per unit',
    ],
    2,
    note =>
      comparison.rows.map(r => {
        const { places } = detectedMeasures[r.measure];
        const head = [labelOf(r.measure), activityName(r.activity), `${r.pairs} (${r.unpaired})`];
        const b = r.blandAltman;
        if (b.value === null) return [...head, note(b.reason), '–', '–', '–'];
        // Limits of three volunteers and fewer have no bootstrap interval worth the name; MOVER stands in, and is named.
        const limit = (value: number, boot: Boot, mover: readonly [number, number]) =>
          boot.value !== null && boot.expandedBca
            ? withInterval(value, boot.expandedBca, places)
            : `${withInterval(value, mover, places)} *`;
        return [
          ...head,
          limit(b.value, r.bias, b.biasInterval),
          limit(b.lower, r.lower, b.lowerInterval),
          limit(b.upper, r.upper, b.upperInterval),
          bootCell(r.slope, 3, note),
        ];
      }),
    [
      `Differences are ${comparison.first} less ${comparison.second ?? 'reviewed'}. ${detectedMethods.limits}; shown are the bootstrap intervals, * MOVER.`,
      `${detectedMethods.regression}. ${notAdjusted}`,
    ],
  );
}

function errorsTable(comparison: DetectedComparison, n: number): ReportTable {
  const hasMargin = comparison.rows.some(r => r.equivalence.value !== null);
  return table(
    `as-detected-errors-${n}`,
    `Mistakes included: ${whoOf(comparison)}, errors and concordance with expanded BCa intervals`,
    [
      'measure',
      'activity',
      'mean absolute error',
      'mean absolute error, %',
      'repeated-measures concordance',
      ...(hasMargin ? ['90 % interval of the bias, margin, p'] : []),
    ],
    2,
    note =>
      comparison.rows.map(r => {
        const { places } = detectedMeasures[r.measure];
        const e = r.equivalence;
        return [
          labelOf(r.measure),
          activityName(r.activity),
          bootCell(r.meanAbsoluteError, places, note),
          bootCell(r.meanAbsolutePercentageError, 2, note),
          bootCell(r.concordance, 3, note),
          ...(hasMargin
            ? [
                e.value === null
                  ? note(e.reason)
                  : `${interval(e.interval90, places)}, ±${e.margin}, ${e.p < 0.001 ? '< 0.001' : fixed(e.p, 3)}${e.equivalent ? ' equivalent' : ''}`,
              ]
            : []),
        ];
      }),
    [
      `${detectedMethods.concordance}.`,
      hasMargin ? `${detectedMethods.equivalence}.` : 'The study names no margin, so equivalence is not tested.',
    ],
  );
}

const measureWords = { rr: 'RR, ms', heartRate: 'heart rate per 10 s, bpm', rmssd: 'RMSSD, ms' } as const;
const placesOf = { rr: 1, heartRate: 2, rmssd: 1 } as const;
const conditional = 'Only intervals that both recorders have';

export function agreementTables(pair: AgreementOfPair, n: number): ReportTable[] {
  const who = `${pair.first} and ${pair.second}`;
  const limits = table(
    `agreement-${n}`,
    `${conditional}: agreement of ${who}, bias and 95 % limits with their intervals`,
    ['measure', 'activity', 'pairs', 'left out, %', 'bias', 'lower limit', 'upper limit', 'SD within, between'],
    2,
    note =>
      pair.rows.map(r => {
        const places = placesOf[r.measure];
        const b = r.blandAltman;
        const left = r.leftOut.value === null ? '–' : fixed(r.leftOut.value, 1);
        const head = [measureWords[r.measure], activityName(r.activity), String(r.pairs), left];
        if (b.value === null) return [...head, note(b.reason), '–', '–', '–'];
        return [
          ...head,
          withInterval(b.value, b.biasInterval, places),
          withInterval(b.lower, b.lowerInterval, places),
          withInterval(b.upper, b.upperInterval, places),
          b.withinSd === null || b.betweenSd === null
            ? '–'
            : `${fixed(b.withinSd, places)}, ${fixed(b.betweenSd, places)}`,
        ];
      }),
    [
      `Differences are ${pair.first} less ${pair.second}. Conditional: mistakes of either recorder are left out, so this table cannot see them; the share left out is of the reviewed intervals of ${pair.first}.`,
    ],
  );
  const errors = table(
    `errors-${n}`,
    `${conditional}: agreement of ${who}, errors and correlation, with expanded BCa intervals`,
    ['measure', 'activity', 'mean absolute error', 'mean absolute error, %', 'concordance', 'ICC(2,1)', 'ICC(3,1)'],
    2,
    note =>
      pair.rows.map(r => [
        measureWords[r.measure],
        activityName(r.activity),
        bootCell(r.meanAbsoluteError, 2, note),
        bootCell(r.meanAbsolutePercentageError, 2, note),
        bootCell(r.concordance, 3, note),
        bootCell(r.icc21, 3, note),
        bootCell(r.icc31, 3, note),
      ]),
  );
  return [limits, errors];
}
