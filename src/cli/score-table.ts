import { measures } from '../core/score/measures';
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

/** Segments and their total, one row each; what cannot be computed is '-', with the reason below the table. */
export function scoreTable(score: RecordingScore): string {
  const rows = [...score.segments, ...(score.segments.length > 1 ? [score.total] : [])];
  const reasons = rows.flatMap(reasonLines);
  return [alignedTable(head, rows.map(cells), new Set([0])), ...new Set(reasons)].join('\n');
}

function cells(row: SegmentScore): string[] {
  const c = row.counts;
  const m = measures(row);
  const interval = m.qualityInterval95;
  return [
    row.segment.name,
    ...[c.beats, c.marks, c.missed, c.wrongPeak, c.extra, c.refined, c.judged].map(String),
    c.lost === null ? '-' : String(c.lost),
    String(c.right),
    shown(m.quality, 2),
    interval ? `${interval[0].toFixed(2)}-${interval[1].toFixed(2)}` : '-',
    shown(m.readableQuality, 2),
    shown(m.sensitivity, 4),
    shown(m.ppv, 4),
    shown(m.f1, 4),
  ];
}

function shown(computed: Computed, digits: number): string {
  return computed.value === null ? '-' : computed.value.toFixed(digits);
}

function reasonLines(row: SegmentScore): string[] {
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
