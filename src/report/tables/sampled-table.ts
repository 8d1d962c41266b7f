import type { ReportBeginning } from '../../core/report/beginning';
import { type SampledRow, type SampledVolunteer, sampledPoolingMethod } from '../../core/report/sampled-quality';
import { quality, qualityInterval } from '../numbers';
import { activityColumn, type PrintedColumn, printedRecorder, type ReportTable, table } from './table';

interface Line extends SampledRow {
  /** Null: the volunteers together. */
  readonly one: SampledVolunteer | null;
}

const columns: readonly PrintedColumn<Line>[] = [
  printedRecorder,
  activityColumn,
  ['volunteer', l => l.one?.volunteer ?? `all ${l.volunteers.length}`],
  ['review', l => l.one?.review ?? `${l.sampled} of ${l.volunteers.length} sampled`],
  ['quality, %', (l, note) => (l.one ? quality(l.one.quality, 2, note) : pooled(l, note))],
  ['95 % interval', (l, note) => intervalOf(l, note)],
];

const pooled = ({ pooled: e }: Line, note: (reason: string) => string) => quality(e, 2, note);

function intervalOf({ one, pooled: e }: Line, note: (reason: string) => string): string {
  if (one) return one.interval95 ? qualityInterval(one.interval95, 2) : note('a full review has no sampling error');
  if (e.value === null) return note(e.reason);
  return e.interval ? qualityInterval(e.interval, 2) : note(e.intervalReason ?? '');
}

/** Sampled reviews beside full ones, each named as what it is; null without a sample. */
export function sampledReviewsTable({ sampled }: ReportBeginning): ReportTable | null {
  if (sampled.length === 0) return null;
  const lines = sampled.flatMap(row => [
    ...row.volunteers.map((one): Line => ({ ...row, one })),
    { ...row, one: null } satisfies Line,
  ]);
  return table(
    {
      id: 'sampled',
      caption: 'Quality where reviews are samples: right RR intervals of all, in percent',
      rowHeads: 3,
      notes: [`Together: ${sampledPoolingMethod}.`],
    },
    columns,
    lines,
  );
}

/** A note for tables that samples are not in; none where no review is a sample. */
export function withoutSamples({ sampled }: Pick<ReportBeginning, 'sampled'>, why: string): string[] {
  return sampled.length === 0 ? [] : [`Segments reviewed as a sample are left out: ${why}.`];
}
