import type { ReportBeginning } from '../../core/report/beginning';
import type { SecondDetectorRow, SecondDetectorSum } from '../../core/report/second-detector';
import { fixed, type NoteTaker, quality } from '../numbers';
import { type PrintedColumn, printedRecorder, type ReportTable, table } from './table';

interface Line extends Pick<SecondDetectorSum, 'recorder' | 'quality' | 'otherWay'> {
  readonly of: string;
  readonly beats: number | null;
  readonly asFound: number | null;
  readonly changed: number | null;
  readonly unheard: number | null;
}

const count = (n: number | null) => (n === null ? '–' : String(n));

const columns: readonly PrintedColumn<Line>[] = [
  printedRecorder,
  ['reviews', l => l.of],
  ['beats', l => count(l.beats)],
  ['left as found against it', l => count(l.asFound)],
  ['changed, it agrees', l => count(l.changed)],
  ['unsure', l => count(l.unheard)],
  ['quality, %', (l, note) => quality(l.quality, 2, note)],
  ['the other way, %', (l, note) => quality(l.otherWay, 2, note)],
  ['difference, points', difference],
];

function difference({ quality: all, otherWay }: Line, note: NoteTaker): string {
  if (all.value === null) return note(all.reason);
  return otherWay.value === null ? note(otherWay.reason) : fixed(otherWay.value - all.value, 2);
}

const sampledLine = (row: SecondDetectorRow): Line => ({ ...row, of: `${row.volunteer}, ${row.activity}, sampled` });

/** Null where the second detector was not asked. */
export function secondDetectorTable({ secondDetector, settings }: ReportBeginning): ReportTable | null {
  if (!secondDetector) return null;
  const { sums, rows } = secondDetector;
  const whole = sums.map(
    (s): Line => ({ ...s, of: `${s.segments} ${s.segments === 1 ? 'segment' : 'segments'} reviewed in full` }),
  );
  const sampled = rows.filter(r => r.standing === 'sampled').map(sampledLine);
  return table(
    {
      id: 'second-detector',
      caption: 'How far the reviews may lean on the marks they started from',
      rowHeads: 2,
      notes: [
        `The ${settings.secondDetector ?? 'second detector'}, given the signals and no marks. Left as found against it: beats kept where it has none, and none marked where it alone has one. The other way: quality with all of these decided as it says; the truth need not lie between. Unsure: where it could not see, left as reviewed. Each segment is in second-detector.csv.`,
      ],
    },
    columns,
    [...whole, ...sampled],
  );
}
