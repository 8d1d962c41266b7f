import { type Change, type Dismissal, type Operation, type RecordingReview, spanOperation } from '../marks/edit';
import type { Draft, EditLog, LogEntry } from '../marks/log';
import { append, newLog } from '../marks/log';
import { between, has, type Marks, marksFrom } from '../marks/markset';
import { BeatOutcome } from '../marks/match';
import { covers, intersect, subtract, union } from '../marks/spans';
import type { SampleIndex, Span } from '../units';
import { type Comparison, disagreementInput } from './compare';
import { type Disagreement, type DisagreementKind, idleEdges } from './disagreements';
import type { Built } from './edits';
import { logHeader, type Session } from './session';

/** The supervisor's answer to one disagreement. `new` gives marks and unreadable spans for its territory. */
export type Choice =
  | { readonly take: 'A' | 'B' }
  | { readonly take: 'new'; readonly marks: readonly SampleIndex[]; readonly unreadable: readonly Span[] };

export interface Settlement {
  readonly kind: DisagreementKind;
  readonly at: SampleIndex;
  readonly take: Choice['take'];
}

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
 * Agreed beats take A's place. In disputed territory the detected marks stand until they are settled. Each entry's reason
 * names the two logs by rater, length and last hash.
 */
export function startAdjudication(adjudication: Adjudication, supervisor: string, at: string): EditLog {
  const { session, logA, logB, comparisons } = adjudication;
  const reason = `agreed by ${nameOf(logA)} as A and ${nameOf(logB)} as B`;
  let log = newLog(logHeader(session, supervisor, 'adjudicator'));
  for (const [recording, comparison] of comparisons) {
    const draft: Draft = { at, recording, intent: 'settle', change: agreedChange(comparison), reason, origin: 'both' };
    log = append(log, draft).log;
  }
  return log;
}

/** The entry that brings in what both agree on. It is where settling starts, so undo must stop before it. */
export function isPassThrough(entry: LogEntry): boolean {
  return entry.intent === 'settle' && entry.origin === 'both' && !entry.change.some(o => o.op === 'dismissal');
}

function nameOf({ header, entries }: EditLog): string {
  return `${header.rater} (${entries.length} entries, ${entries.at(-1)?.hash.slice(0, 12) ?? 'untouched'})`;
}

/** The two logs that are being settled, as they were when settling began. */
export interface SettledLogs {
  readonly a: EditLog;
  readonly b: EditLog;
  /** One of them has grown since; what came later is left out. */
  readonly grown: boolean;
}

const namedLogs = /^agreed by (\S+) \((\d+) entries, (\w+)\) as A and (\S+) \((\d+) entries, (\w+)\) as B$/;

/** Which logs an adjudicated log settles, found among `logs`; null when it names none of these, or not as they are here. */
export function settledLogs(adjudicated: EditLog, logs: readonly EditLog[]): SettledLogs | null {
  const named = namedLogs.exec(adjudicated.entries.find(isPassThrough)?.reason ?? '');
  if (!named) return null;
  const find = (rater: string, count: number, hash: string): EditLog | null => {
    const log = logs.find(l => l.header.rater === rater && l.header.role !== 'adjudicator');
    const first = log && { header: log.header, entries: log.entries.slice(0, count) };
    return first && nameOf(first) === `${rater} (${count} entries, ${hash})` ? first : null;
  };
  const a = find(named[1]!, Number(named[2]), named[3]!);
  const b = find(named[4]!, Number(named[5]), named[6]!);
  const isGrown = (log: EditLog) => logs.some(l => l.header === log.header && l.entries.length > log.entries.length);
  return a && b ? { a, b, grown: isGrown(a) || isGrown(b) } : null;
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
 * chosen ones, and a dismissal remembers the choice. Null when it stands so already.
 */
export function settle(comparison: Comparison, current: RecordingReview, d: Disagreement, choice: Choice): Built {
  const { territory } = d;
  const wanted = wantedIn(comparison, d, choice);
  const stray = wanted.marks.find(m => !covers(territory, m));
  if (stray !== undefined || subtract(wanted.unreadable, territory).length > 0) {
    return { refused: 'Place the answer within the disputed stretch: what lies beyond belongs to other beats.' };
  }
  const before = current.dismissals.find(x => isAbout(x, d)) ?? null;
  const after: Dismissal = { reason: `${d.kind}: took ${choice.take}`, at: d.at };
  const unreadable = union(subtract(current.unreadable, territory), wanted.unreadable);
  const change = onlyReal([
    marksOperation(marksIn(current.marks, territory), wanted.marks),
    spanOperation('unreadable', current.unreadable, unreadable),
  ]);
  if (change.length === 0 && before?.reason === after.reason) return null;
  return [...change, { op: 'dismissal', before, after }];
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
  const found = adjudicated.dismissals.find(x => isAbout(x, d));
  if (!found) return null;
  return { kind: d.kind, at: d.at, take: found.reason.slice(`${d.kind}: took `.length) as Choice['take'] };
}

export function unsettled(comparison: Comparison, adjudicated: RecordingReview): Disagreement[] {
  return comparison.disagreements.filter(d => settlementOf(adjudicated, d) === null);
}

function isAbout(x: Dismissal, d: Disagreement): boolean {
  return x.at === d.at && x.reason.startsWith(`${d.kind}: took `);
}

function marksOperation(before: Marks, after: Marks): Operation {
  const missingFrom = (marks: Marks) => (m: number) => !has(marks, m);
  const removed = [...before.filter(missingFrom(after))] as SampleIndex[];
  return { op: 'marks', removed, added: [...after.filter(missingFrom(before))] as SampleIndex[] };
}

function onlyReal(operations: readonly Operation[]): Operation[] {
  return operations.filter(o => !('removed' in o) || o.removed.length > 0 || o.added.length > 0);
}
