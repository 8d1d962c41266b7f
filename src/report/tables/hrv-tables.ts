import type { HrvEffect, SeriesFacts } from '../../core/report/hrv-effects';
import { hrvMeasures, measureOf } from '../../core/report/hrv-measures';
import { seriesNames } from '../../core/report/hrv-series';
import type { ReportData } from '../../core/report/report';
import { fixed, type NoteTaker, number } from '../numbers';
import { withoutSamples } from './sampled-table';
import { activityColumn, type PrintedColumn, type ReportTable, table } from './table';

type SummaryRow = ReportData['hrv']['summary'][number];

const withUnit = ({ label, unit }: { label: string; unit: string }) => (unit ? `${label}, ${unit}` : label);
const places = (s: SummaryRow) => measureOf(s.key).places;

/** Over how many segments a mean is, where these are not those of the columns beside it. */
const ofFewer = ({ sinus, segments }: SummaryRow) =>
  sinus.value === null || sinus.n === segments ? '' : ` (${sinus.n} of ${segments})`;

const fewerNote =
  'Without non-sinus beats: where not all segments have this value, their number is in brackets. Do not compare such a mean with those beside it.';

const summaryColumns: readonly PrintedColumn<SummaryRow>[] = [
  activityColumn,
  ['measure', s => withUnit(measureOf(s.key))],
  ['segments', s => `${s.segments}${s.notComputable > 0 ? ` + ${s.notComputable} n.c.` : ''}`],
  ['as detected', (s, note) => number(s.detected, places(s), note)],
  ['as reviewed', (s, note) => number(s.reviewed, places(s), note)],
  ['without non-sinus', (s, note) => number(s.sinus, places(s), note) + ofFewer(s)],
  [
    'difference (SD)',
    s => {
      if (s.difference.value === null) return '–';
      const sd = s.differenceSd.value === null ? '–' : fixed(s.differenceSd.value, places(s));
      return `${fixed(s.difference.value, places(s))} (${sd})`;
    },
  ],
  ['largest', s => (s.largest ? `${fixed(s.largest.value, places(s))} (${s.largest.volunteer})` : '–')],
];

/** Measures of the main part; the supplement has the others. */
const headlineMeasures = ['meanHeartRate', 'sdnn', 'rmssd'];

export function hrvHeadline({ hrv, sampled }: ReportData): ReportTable {
  const [activity, measure, ...rest] = summaryColumns;
  return table(
    {
      id: 'hrv-summary',
      caption: 'What the mistakes do to heart rate and HRV: means over segments',
      rowHeads: 2,
      notes: [
        'Difference: as detected less as reviewed. Only segments that have the measure both ways enter. More measures are in the supplement.',
        fewerNote,
        ...withoutSamples({ sampled }, 'heart rate and HRV need continuous time and are not computable from a sample'),
      ],
    },
    [['recorder, activity', s => `${s.recorder}, ${activity![1](s, () => '')}`], measure!, ...rest],
    hrv.summary.filter(s => headlineMeasures.includes(s.key)),
  );
}

export function hrvSummaryTables({ hrv, recorders }: ReportData): ReportTable[] {
  return recorders.map((recorder, i) =>
    table(
      {
        id: `hrv-summary-${i + 1}`,
        caption: `What the mistakes do, ${recorder}: means over segments`,
        rowHeads: 2,
        notes: [
          'Difference: as detected less as reviewed. Only segments that have the measure both ways enter; the others are counted under "n.c." and explained in the supplement.',
          fewerNote,
        ],
      },
      summaryColumns,
      hrv.summary.filter(s => s.recorder === recorder),
    ),
  );
}

/** Every measure of one recording: a column a segment, detected / reviewed / without non-sinus. */
export function hrvDetailTables({ hrv }: ReportData): ReportTable[] {
  const groups = new Map<string, HrvEffect[]>();
  for (const e of hrv.effects) {
    const key = `${e.session}\n${e.recorder}`;
    groups.set(key, [...(groups.get(key) ?? []), e]);
  }
  return [...groups.values()].map((effects, i) => hrvDetail(effects, i + 1));
}

/** One line of the table: its name, and its cell for a segment. */
type Line = readonly [name: string, cell: (e: HrvEffect, note: NoteTaker) => string];

const three =
  (of: (s: SeriesFacts) => string): Line[1] =>
  e =>
    seriesNames.map(name => of(e.series[name])).join(' / ');

const lines: readonly Line[] = [
  ['intervals', three(s => String(s.intervals))],
  ['readable time, s', three(s => fixed(s.readableSeconds, 0))],
  ['left out: unreadable', three(s => String(s.leftOutUnreadable))],
  ['left out: non-sinus', three(s => String(s.leftOutNonSinus))],
  ['non-sinus beats', e => (e.sinusCheck.status === 'few odd intervals' ? 'few odd' : e.sinusCheck.status)],
  ['interpolated for Welch, s', three(s => fixed(s.interpolatedSeconds, 1))],
  ['odd intervals, kept', three(s => String(s.oddIntervals))],
  ...hrvMeasures.map((measure): Line => [withUnit(measure), measureCell(measure.key, measure.places)]),
];

/** The three series side by side, or one reason where none has a value. */
function measureCell(key: string, digits: number): Line[1] {
  return (e, note) => {
    const m = e.measures.find(one => one.key === key)!;
    const cells = seriesNames.map(name => number(m[name], digits, note));
    return new Set(cells).size === 1 && m.reviewed.value === null ? cells[0]! : cells.join(' / ');
  };
}

function hrvDetail(effects: readonly HrvEffect[], n: number): ReportTable {
  const { volunteer, recorder } = effects[0]!;
  const caption = `${volunteer}, ${recorder}: as detected / as reviewed / without non-sinus beats`;
  return table<Line>(
    { id: `hrv-${n}`, caption },
    [
      ['measure', ([name]) => name],
      ...effects.map((e): PrintedColumn<Line> => [e.activity, ([, cell], note) => cell(e, note)]),
    ],
    lines,
  );
}
