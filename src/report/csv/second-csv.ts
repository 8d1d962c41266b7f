import type { ReportData } from '../../core/report/report';
import type { SecondDetectorRow } from '../../core/report/second-detector';
import { type Column, type DataTable, dataTable } from './column';
import { notComputableBecause, recorderColumn, sessionAndVolunteer } from './shared-columns';

const columns: readonly Column<SecondDetectorRow>[] = [
  ...sessionAndVolunteer,
  recorderColumn,
  ['activity', 'text', r => r.activity, 'activity of the protocol'],
  ['review', 'text', r => r.source, 'whose review counts'],
  ['standing', 'text', r => r.standing, 'final: reviewed in full or signed off; sampled: estimated from a sample'],
  ['beats', 'count', r => r.beats, 'reviewed beats in what was looked at'],
  [
    'left_as_found',
    'count',
    r => r.asFound,
    'places that the rater left as found and where the second detector says otherwise',
  ],
  ['changed', 'count', r => r.changed, 'places that the rater changed to what the second detector has too'],
  ['unsure', 'count', r => r.unheard, 'places left as found where the second detector could not see'],
  ['quality_percent', 'percent', r => r.quality.value, 'quality as reviewed'],
  [
    'other_way_percent',
    'percent',
    r => r.otherWay.value,
    'quality with every place left as found decided as the second detector says',
  ],
  ['right', 'count', r => r.counts?.right ?? null, 'right intervals as reviewed; empty of a sample'],
  ['intervals', 'count', r => r.counts?.whole ?? null, 'judged and lost intervals as reviewed; empty of a sample'],
  ['other_way_right', 'count', r => r.counts?.otherRight ?? null, 'right intervals the other way; empty of a sample'],
  [
    'other_way_intervals',
    'count',
    r => r.counts?.otherWhole ?? null,
    'judged and lost intervals the other way; empty of a sample',
  ],
  notComputableBecause(r => r.otherWay),
];

export const secondDetectorCsv = ({ secondDetector }: ReportData): DataTable =>
  dataTable(
    'reviewed and detected marks, and the beats of the second detector, which goes over the signal alone',
    columns,
    secondDetector?.rows ?? [],
  );
