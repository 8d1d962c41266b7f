import type { ReviewedScore, ReviewedSegment } from '../core/review/standing/reviewed-score';
import { standingWords } from '../core/review/standing/standing-words';
import { measures } from '../core/score/measures';
import { percentLimits, percentText } from '../core/score/percent-text';
import type { Computed } from '../core/score/result';
import type { RecordingScore, SegmentScore } from '../core/score/score';
import { alignedTable } from './aligned';

const head = [
  'segment',
  'beats',
  'marks',
  'missed',
  'wrong peak',
  'extra',
  'refined',
  'judged',
  'lost',
  'right',
  'quality %',
  '95 % interval',
  'readable %',
  'sensitivity',
  'PPV',
  'F1',
];

/**
 * Segments and their total, one row each; what cannot be computed is '-', with the reason below the table. Of a review the
 * last column says how much of it was looked at; plain lists are taken for reviewed in full.
 */
export function scoreTable(score: RecordingScore | ReviewedScore): string {
  const rows: readonly (SegmentScore | ReviewedSegment)[] = [
    ...score.segments,
    ...(score.segments.length > 1 ? [score.total] : []),
  ];
  const standings = rows.map(row => ('standing' in row ? [standingWords(row.standing)] : []));
  const heads = standings.some(s => s.length > 0) ? [...head, 'status'] : head;
  const table = alignedTable(
    heads,
    rows.map((row, i) => [...cells(row), ...standings[i]!]),
    new Set([0, head.length]),
  );
  return [table, ...new Set(rows.flatMap(reasonLines))].join('\n');
}

function cells(row: SegmentScore): string[] {
  const c = row.counts;
  const m = measures(row);
  const interval = m.qualityInterval95;
  if (row.withheld !== undefined) return [row.segment.name, ...head.slice(1).map(() => '-')];
  return [
    row.segment.name,
    ...[c.beats, c.marks, c.missed, c.wrongPeak, c.extra, c.refined, c.judged].map(String),
    c.lost === null ? '-' : String(c.lost),
    String(c.right),
    percent(m.quality),
    interval ? percentLimits(interval, 2).join('-') : '-',
    percent(m.readableQuality),
    shown(m.sensitivity, 4),
    shown(m.ppv, 4),
    shown(m.f1, 4),
  ];
}

function shown(computed: Computed, digits: number): string {
  return computed.value === null ? '-' : computed.value.toFixed(digits);
}

function percent(computed: Computed): string {
  return computed.value === null ? '-' : percentText(computed.value, 2);
}

function reasonLines(row: SegmentScore): string[] {
  if (row.withheld !== undefined) return [];
  const m = measures(row);
  const all: [string, Computed][] = [
    ['quality', m.quality],
    ['readable quality', m.readableQuality],
    ['sensitivity', m.sensitivity],
    ['PPV', m.ppv],
    ['F1', m.f1],
  ];
  return all.flatMap(([name, c]) =>
    c.value === null ? [`${row.segment.name}: ${name} not computable: ${c.reason}`] : [],
  );
}
