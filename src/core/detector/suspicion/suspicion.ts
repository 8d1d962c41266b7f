import type { SampleIndex } from '../../units';
import { findingsAtMark } from './at-mark';
import type { BeatTable } from './beats';
import { beatTable, unchanged, updateBeatTable } from './beats';
import { missingBefore } from './between-marks';
import type { Context, SuspicionInput } from './context';
import { blindSpans, noneHere, secondOpinion, toMilliseconds, unmarkedIn, updateOpinion } from './context';
import { intervalNeighbours, intervalTable, updateIntervalTable } from './intervals';
import type { Finding, ReasonId } from './reasons';
import { weights } from './reasons';

/** A change the rater may take with one key. Nothing is changed by itself. */
export type Candidate =
  | { readonly kind: 'insert'; readonly at: SampleIndex }
  | { readonly kind: 'delete'; readonly at: SampleIndex }
  | { readonly kind: 'move'; readonly at: SampleIndex; readonly to: SampleIndex };

/** A place worth a look. `score` ranks: 0 to below 1, the chance of a mistake if the reasons were independent. */
export interface Suspicion {
  readonly at: SampleIndex;
  /** The mark it is about; null when it is about a beat without a mark. */
  readonly mark: SampleIndex | null;
  readonly score: number;
  /** Strongest first. */
  readonly findings: readonly Finding[];
  /** Most likely first. */
  readonly candidates: readonly Candidate[];
}

/** Suspicions with what it takes to update them after an edit. */
export interface SuspicionTable {
  readonly input: SuspicionInput;
  readonly beats: BeatTable;
  readonly intervals: Context['intervals'];
  readonly opinion: Context['opinion'];
  /** Suspicions of mark i and of the stretch before it; the last entry is the stretch after the last mark. */
  readonly perMark: readonly (readonly Suspicion[])[];
}

/** Below this a place is not worth a line in the queue. */
const leastScore = 0.05;

export function suspicions(input: SuspicionInput): Suspicion[] {
  return listed(suspicionTable(input));
}

export function listed(table: SuspicionTable): Suspicion[] {
  const out: Suspicion[] = [];
  for (const entry of table.perMark) for (const s of entry) out.push(s);
  return out;
}

export function suspicionTable(input: SuspicionInput): SuspicionTable {
  const blind = blindSpans(input);
  const beats = beatTable(input.features, input.marks);
  const intervals = intervalTable(input.marks, blind);
  const opinion = secondOpinion(input, blind);
  const context: Context = { ...input, beats, intervals, blind, opinion };
  const perMark = Array.from({ length: input.marks.length + 1 }, (_, i) => atPlace(context, i));
  return { input, beats, intervals, opinion, perMark };
}

/**
 * The table after an edit of marks or of unreadable spans. Only the surroundings of the changed marks are judged again;
 * when spans, gaps or the second detector change, everything is.
 */
export function updateSuspicions(before: SuspicionTable, input: SuspicionInput): SuspicionTable {
  const old = before.input;
  const sameSignal = old.features === input.features && old.second === input.second && old.gaps === input.gaps;
  if (!sameSignal || old.unreadable !== input.unreadable || old.secondUnsure !== input.secondUnsure)
    return suspicionTable(input);
  const { head, tail } = unchanged(old.marks, input.marks);
  if (head === old.marks.length && head === input.marks.length) return before;
  const blind = blindSpans(input);
  const beats = updateBeatTable(input.features, before.beats, input.marks);
  const intervals = updateIntervalTable(before.intervals, input.marks, blind, head, tail);
  const opinion = updateOpinion(before.opinion, input, blind, head, tail);
  const context: Context = { ...input, beats, intervals, blind, opinion };
  const reach = 2 * intervalNeighbours;
  const from = Math.max(0, head - reach);
  const kept = Math.max(0, tail + 1 - reach);
  const fresh: (readonly Suspicion[])[] = [];
  for (let i = from; i < input.marks.length + 1 - kept; i++) fresh.push(atPlace(context, i));
  const perMark = before.perMark.slice(0, from).concat(fresh, before.perMark.slice(before.perMark.length - kept));
  return { input, beats, intervals, opinion, perMark };
}

const none: readonly Suspicion[] = [];

function atPlace(context: Context, i: number): readonly Suspicion[] {
  const out: Suspicion[] = [];
  for (const missing of missingBefore(context, i)) {
    const score = combined(missing.findings);
    if (score < leastScore) continue;
    const candidates = missing.places.map(at => ({ kind: 'insert', at: at as SampleIndex }) as const);
    out.push({ at: missing.at as SampleIndex, mark: null, score, findings: sorted(missing.findings), candidates });
  }
  if (i < context.marks.length) {
    const findings = findingsAtMark(context, i);
    const score = combined(findings);
    const mark = context.marks[i]! as SampleIndex;
    if (score >= leastScore)
      out.push({ at: mark, mark, score, findings: sorted(findings), candidates: candidatesAt(context, i, findings) });
  }
  return out.length > 0 ? out : none;
}

function combined(findings: readonly Finding[]): number {
  let right = 1;
  for (const f of findings) right *= 1 - weights[f.reason] * f.strength;
  return 1 - right;
}

function sorted(findings: Finding[]): Finding[] {
  return findings.sort((a, b) => weights[b.reason] * b.strength - weights[a.reason] * a.strength);
}

/** A move where another place for this beat is known, and the deletion of the mark. */
function candidatesAt(context: Context, i: number, findings: readonly Finding[]): Candidate[] {
  const mark = context.marks[i]! as SampleIndex;
  const moves: Candidate[] = [];
  const add = (to: number) => {
    if (to < 0 || to === mark || (context.marks[i - 1] ?? -1) >= to || (context.marks[i + 1] ?? to + 1) <= to) return;
    if (!moves.some(c => c.kind === 'move' && c.to === to))
      moves.push({ kind: 'move', at: mark, to: to as SampleIndex });
  };
  const has = (reason: ReasonId) => findings.some(f => f.reason === reason);
  const off = context.opinion ? context.opinion.off[i]! : noneHere;
  if (off !== noneHere && Math.abs(toMilliseconds(context, off)) > 20) add(mark + off);
  const window = Math.round(0.4 * context.features.samplingRateHz);
  for (const s of unmarkedIn(context, mark - window, mark + window + 1)) add(s);
  if (has('off the peak')) add(mark + context.beats.shift[i]!);
  const remove: Candidate = { kind: 'delete', at: mark };
  const deleteFirst = has('second detector: none here') || (has('short interval') && moves.length === 0);
  return deleteFirst ? [remove, ...moves] : [...moves, remove];
}
