import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { RecordingReview } from '../../../src/core/marks/edit';
import { BeatOutcome, match, outside } from '../../../src/core/marks/match';
import { covers } from '../../../src/core/marks/spans';
import type { Span } from '../../../src/core/units';

export type MistakeKind = 'missed' | 'wrong peak' | 'extra' | 'unreadable';

/** What is still wrong at one place: the beat, the mark, or the span. */
export interface Mistake {
  readonly kind: MistakeKind;
  readonly at: number;
  readonly mark: number | null;
  readonly span: Span | null;
}

export interface Truth {
  readonly beats: Int32Array;
  readonly unreadable: readonly Span[];
}

/** `gaps`: where nothing was recorded there is nothing to mark. */
export function truthOf(volunteer: string, recordingId: string, gaps: readonly Span[] = []): Truth {
  const path = join(import.meta.dirname, `../../../sample-sessions/truth/${volunteer}.json`);
  const { recordings } = JSON.parse(readFileSync(path, 'utf8'));
  const found = recordings.find((r: { id: string }) => r.id === recordingId);
  return { beats: outside(Int32Array.from(found.beats), gaps), unreadable: found.unreadable };
}

/** What a reviewer still has to do in `[start, end)`, in the order of time. Marks within the tolerance are right. */
export function mistakesIn(truth: Truth, review: RecordingReview, hz: number, start: number, end: number): Mistake[] {
  const reach = hz * 3;
  const near = (x: number) => x >= start - reach && x < end + reach;
  const beats = outside(truth.beats.filter(near), truth.unreadable);
  const marks = outside(outside(review.marks.filter(near), truth.unreadable), review.unreadable);
  const found = match(beats, marks, [], hz);
  const out: Mistake[] = [];
  const inside = (x: number) => x >= start && x < end;
  for (let k = 0; k < beats.length; k++) {
    if (!inside(beats[k]!) || found.outcome[k] === BeatOutcome.onPeak) continue;
    const j = found.markOfBeat[k]!;
    const mark = j >= 0 ? marks[j]! : null;
    out.push({ kind: mark === null ? 'missed' : 'wrong peak', at: beats[k]!, mark, span: null });
  }
  for (let j = 0; j < marks.length; j++)
    if (found.beatOfMark[j] === -1 && inside(marks[j]!))
      out.push({ kind: 'extra', at: marks[j]!, mark: marks[j]!, span: null });
  for (const span of truth.unreadable) {
    if (span.start >= end || span.end <= start || isMarked(truth, review, span)) continue;
    out.push({ kind: 'unreadable', at: span.start, mark: null, span });
  }
  return out.sort((a, b) => a.at - b.at);
}

/** Where an end of an unreadable span may lie: between the last beat outside and the first beat or mark inside. */
export function endZones(truth: Truth, review: RecordingReview, span: Span): { from: Span; to: Span } {
  const hidden = [...truth.beats, ...review.marks].filter(b => b >= span.start && b < span.end);
  const before = truth.beats.filter(b => b < span.start && !covers(truth.unreadable, b)).at(-1) ?? -1;
  const after = truth.beats.find(b => b >= span.end && !covers(truth.unreadable, b)) ?? Number.MAX_SAFE_INTEGER;
  const first = hidden.length > 0 ? Math.min(...hidden) : span.end - 1;
  const last = hidden.length > 0 ? Math.max(...hidden) : span.start;
  const zone = (a: number, b: number) => ({ start: a, end: b }) as Span;
  return { from: zone(before + 1, first + 1), to: zone(last + 1, after + 1) };
}

function isMarked(truth: Truth, review: RecordingReview, span: Span): boolean {
  const { from, to } = endZones(truth, review, span);
  return review.unreadable.some(
    u => u.start >= from.start && u.start < from.end && u.end >= to.start && u.end < to.end,
  );
}

/** A step towards right counts also half-way: a wrong peak taken out leaves a missed one. */
export function costOf(mistakes: readonly Mistake[]): number {
  const costs: Record<MistakeKind, number> = { missed: 1, extra: 1, 'wrong peak': 1.5, unreadable: 2 };
  return mistakes.reduce((sum, m) => sum + costs[m.kind], 0);
}
