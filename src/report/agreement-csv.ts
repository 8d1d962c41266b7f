import type { BlandAltman } from '../core/agreement/bland-altman';
import { detectedMeasures } from '../core/report/as-detected';
import { agreementMeasures } from '../core/report/recorder-agreement';
import type { ReportData } from '../core/report/report';
import { type Cell, csvText } from '../formats/csv/csv';
import { all, bootCells, bootHead, limits, reasonOf } from './csv-cells';

export function detectedCsv({ asDetected }: ReportData): string {
  const boots = ['bias', 'lower', 'upper', 'mae', 'mape_percent', 'slope', 'concordance'];
  const mover = ['bias', 'lower', 'upper'].flatMap(what => [`${what}_mover_low`, `${what}_mover_high`]);
  const regression = ['bias_at_zero', 'half_width_at_zero', 'half_width_slope'];
  const tost = ['margin', 'bias_low90', 'bias_high90', 'equivalence_p'];
  return csvText(
    [
      ...['first', 'second', 'measure', 'unit', 'activity', 'volunteers', 'pairs', 'without_partner'],
      ...boots.flatMap(bootHead),
      ...mover,
      ...regression,
      ...tost,
      'not_computable',
    ],
    asDetected.flatMap(({ first, second, rows }) =>
      rows.map((r): Cell[] => {
        const b = r.blandAltman;
        const g = r.regression;
        const e = r.equivalence;
        return [
          ...[first, second ?? 'reviewed', detectedMeasures[r.measure].label, detectedMeasures[r.measure].unit],
          ...[all(r.activity), r.volunteers, r.pairs, r.unpaired],
          ...[
            r.bias,
            r.lower,
            r.upper,
            r.meanAbsoluteError,
            r.meanAbsolutePercentageError,
            r.slope,
            r.concordance,
          ].flatMap(bootCells),
          ...(b.value === null
            ? mover.map(() => null)
            : [b.biasInterval, b.lowerInterval, b.upperInterval].flatMap(limits)),
          ...(g.value === null ? regression.map(() => null) : [g.biasAtZero, g.halfWidthAtZero, g.halfWidthSlope]),
          ...(e.value === null ? tost.map(() => null) : [e.margin, ...limits(e.interval90), e.p]),
          reasonOf(b),
        ];
      }),
    ),
  );
}

const limitHead = [
  'bias',
  'bias_low',
  'bias_high',
  'lower',
  'lower_low',
  'lower_high',
  'upper',
  'upper_low',
  'upper_high',
  'sd',
  'within_sd',
  'between_sd',
];

function limitCells(b: BlandAltman): Cell[] {
  if (b.value === null) return limitHead.map(() => null);
  return [
    b.value,
    ...limits(b.biasInterval),
    b.lower,
    ...limits(b.lowerInterval),
    b.upper,
    ...limits(b.upperInterval),
    b.sd,
    b.withinSd,
    b.betweenSd,
  ];
}

export function agreementCsv({ agreement }: ReportData): string {
  const boots = ['mae', 'mape_percent', 'concordance', 'icc21', 'icc31'];
  return csvText(
    [
      'first',
      'second',
      'measure',
      'activity',
      'pairs',
      'left_out_percent',
      'volunteers',
      ...limitHead,
      ...boots.flatMap(bootHead),
      'not_computable',
    ],
    agreement.flatMap(pair =>
      pair.rows.map((r): Cell[] => {
        const ba = limitCells(r.blandAltman);
        const rest = [r.meanAbsoluteError, r.meanAbsolutePercentageError, r.concordance, r.icc21, r.icc31].flatMap(
          bootCells,
        );
        return [
          pair.first,
          pair.second,
          agreementMeasures[r.measure],
          all(r.activity),
          r.pairs,
          r.leftOut.value,
          r.volunteers,
          ...ba,
          ...rest,
          reasonOf(r.blandAltman),
        ];
      }),
    ),
  );
}
