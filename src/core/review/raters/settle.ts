import { type Change, type Operation, type RecordingReview, type Settlement, spanOperation } from '../../marks/edit';
import type { LogReference } from '../../marks/facts';
import type { Draft, EditLog } from '../../marks/log';
import { append, lastHash, newLog } from '../../marks/log';
import { between, has, type Marks, marksFrom } from '../../marks/markset';
import { BeatOutcome } from '../../marks/match';
import { covers, intersect, subtract, union } from '../../marks/spans';
import type { SampleIndex, Span } from '../../units';
import type { Built } from '../edits';
import { logHeader, type Session } from '../session';
import { type Comparison, disagreementInput } from './compare';
import { type Disagreement, idleEdges } from './disagreements';

/** The supervisor's answer to one disagreement. `new` gives marks and unreadable spans for its territory. */
export type Choice =
  | { readonly take: 'A' | 'B' }
  | { readonly take: 'new'; readonly marks: readonly SampleIndex[]; readonly unreadable: readonly Span[] };

/** Two logs of one session, and what they come to on each recording. */
export interface Adjudication {
  readonly session: Session;
  readonly logA: EditLog;
  readonly logB: EditLog;
  /** By recording id. */
  readonly comparisons: ReadonlyMap<string, Comparison>;
}

/**
 * The adjudicated log with its first entries, one a recording, origin 'both': what the two agree on passes through.
 * Agreed beats take A's place. In disputed territory the detected marks stand until they are settled. Each entry names
 * the two logs.
 */
export function startAdjudication(adjudication: Adjudication, supervisor: string, at: string): EditLog {
  const { session, logA, logB, comparisons } = adjudication;
  const fact = { kind: 'settledLogs', a: referenceTo(logA), b: referenceTo(logB) } as const;
  let log = newLog(logHeader(session, supervisor, 'adjudicator'));
  for (const [recording, comparison] of comparisons) {
    const draft: Draft = { at, recording, intent: 'settle', change: agreedChange(comparison), fact, origin: 'both' };
    log = append(log, draft).log;
  }
  return log;
}

function referenceTo(log: EditLog): LogReference {
  return { rater: log.header.rater, entries: log.entries.length, hash: lastHash(log) };
}

/** From the detected marks to what the two raters agree on. */
function agreedChange(comparison: Comparison): Change {
  const { pair, raters, disagreements } = comparison;
  const { detected, recording } = pair.item;
  const input = disagreementInput(pair, raters);
  const unreadable = union(intersect(input.spansA, input.spansB), idleEdges(input));
  const disputed = union(
    [],
    disagreements.flatMap(d => d.territory),
  );
  const untouched = union(union(unreadable, recording.gaps), disputed);
  const { beats, outcome } = raters.matching;
  const agreed = beats.filter((_, k) => outcome[k] === BeatOutcome.onPeak);
  const marks = marksFrom([...agreed, ...detected.filter(m => covers(untouched, m))]);
  return onlyReal([marksOperation(detected, marks), spanOperation('unreadable', [], unreadable)]);
}

/**
 * The change that settles a disagreement, or settles it again: within its territory, marks and unreadable spans become the
 * chosen ones, and the choice is remembered. Null when it stands so already.
 */
export function settle(comparison: Comparison, current: RecordingReview, d: Disagreement, choice: Choice): Built {
  const { territory } = d;
  const wanted = wantedIn(comparison, d, choice);
  const stray = wanted.marks.find(m => !covers(territory, m));
  if (stray !== undefined || subtract(wanted.unreadable, territory).length > 0) {
    return { refused: 'Place the answer within the disputed stretch: what lies beyond belongs to other beats.' };
  }
  const before = settlementOf(current, d);
  const after: Settlement = { kind: d.kind, at: d.at, take: choice.take };
  const unreadable = union(subtract(current.unreadable, territory), wanted.unreadable);
  const change = onlyReal([
    marksOperation(marksIn(current.marks, territory), wanted.marks),
    spanOperation('unreadable', current.unreadable, unreadable),
  ]);
  if (change.length === 0 && before?.take === after.take) return null;
  return [...change, { op: 'settlement', before, after }];
}

function wantedIn(
  { pair }: Comparison,
  d: Disagreement,
  choice: Choice,
): { marks: Marks; unreadable: readonly Span[] } {
  if (choice.take === 'new') return { marks: marksFrom(choice.marks), unreadable: union([], choice.unreadable) };
  const review = choice.take === 'A' ? pair.a : pair.b;
  const unreadable = d.unreadableBy === choice.take ? d.territory : [];
  return { marks: marksIn(review.marks, d.territory), unreadable };
}

function marksIn(marks: Marks, spans: readonly Span[]): Marks {
  return marksFrom(spans.flatMap(s => [...between(marks, s.start, s.end)]));
}

/** The log entry of a settlement; `change` is what `settle` built. */
export function settleDraft(at: string, recording: string, choice: Choice, change: Change, reason?: string): Draft {
  const words = reason?.trim() ? { reason: reason.trim() } : {};
  return { at, recording, intent: 'settle', change, origin: choice.take, ...words };
}

/** How a disagreement was settled in the adjudicated review; null when it waits. */
export function settlementOf(adjudicated: RecordingReview, d: Disagreement): Settlement | null {
  return adjudicated.settlements.find(s => s.kind === d.kind && s.at === d.at) ?? null;
}

export function unsettled(comparison: Comparison, adjudicated: RecordingReview): Disagreement[] {
  return comparison.disagreements.filter(d => settlementOf(adjudicated, d) === null);
}

function marksOperation(before: Marks, after: Marks): Operation {
  const missingFrom = (marks: Marks) => (m: number) => !has(marks, m);
  const removed = [...before.filter(missingFrom(after))] as SampleIndex[];
  return { op: 'marks', removed, added: [...after.filter(missingFrom(before))] as SampleIndex[] };
}

function onlyReal(operations: readonly Operation[]): Operation[] {
  return operations.filter(o => !('removed' in o) || o.removed.length > 0 || o.added.length > 0);
}
