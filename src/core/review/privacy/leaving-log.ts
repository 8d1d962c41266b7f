import type { Note, Operation, SignOff } from '../../marks/edit';
import type { Fact, LogReference } from '../../marks/facts';
import { append, draftOf, type EditLog, lastHash, newLog } from '../../marks/log';
import type { SamplePlan } from '../../marks/sampling';
import { logHeader, type Session } from '../session';
import type { Handling } from './identifying';
import { type ShownNames, shiftedDay } from './leaving-names';

const leftOut = '(left out)';

interface Rewriting {
  readonly handling: Handling;
  readonly names: ShownNames;
  readonly time: (at: string) => string;
  /** Logs that are done, by the rater's own code: a settlement names how they end. */
  readonly done: ReadonlyMap<string, EditLog>;
}

/** Logs as they leave, in their order; those that settle differences are written after those that they settle. */
export function rewrittenLogs(
  logs: readonly EditLog[],
  session: Session,
  handling: Handling,
  names: ShownNames,
): readonly EditLog[] {
  const done = new Map<string, EditLog>();
  const context = { handling, names, time: timesOf(logs, handling), done };
  const ordered = [...logs].sort(
    (a, b) => Number(a.header.role === 'adjudicator') - Number(b.header.role === 'adjudicator'),
  );
  for (const log of ordered) done.set(log.header.rater, rewritten(log, session, context));
  return logs.map(log => done.get(log.header.rater)!);
}

/** One log that settles nothing under other names, its times as they are. */
export function renamedLog(log: EditLog, session: Session, handling: Handling, names: ShownNames): EditLog {
  return rewritten(log, session, { handling, names, time: at => at, done: new Map() });
}

function rewritten(log: EditLog, session: Session, context: Rewriting): EditLog {
  const { names, time } = context;
  let out = newLog(logHeader(session, names.rater(log.header.rater), log.header.role));
  for (const entry of log.entries) {
    const draft = draftOf(entry);
    const change = draft.change.map(op => operationAs(op, context));
    const fact = draft.fact && factAs(draft.fact, context);
    const reason = draft.reason === undefined ? undefined : textAs(draft.reason, context);
    out = append(out, {
      ...draft,
      at: time(draft.at),
      recording: names.recording(draft.recording),
      change,
      ...(fact && { fact }),
      ...(reason === undefined ? {} : { reason }),
    }).log;
  }
  return out;
}

/** Days move together; without dates the first entry of all is at the beginning of 1970, the others as long after it. */
function timesOf(logs: readonly EditLog[], { dates }: Handling): (at: string) => string {
  if (dates === 'keep') return at => at;
  if (dates !== 'drop') return at => shiftedDay(at, dates.shiftDays);
  const times = logs.flatMap(log => log.entries.map(e => Date.parse(e.at))).filter(Number.isFinite);
  const first = times.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  return at => {
    const since = Date.parse(at) - first;
    return new Date(Number.isFinite(since) ? Math.max(0, since) : 0).toISOString();
  };
}

const textAs = (text: string, { handling }: Rewriting) => (handling.remarks === 'drop' && text !== '' ? leftOut : text);

function operationAs(op: Operation, context: Rewriting): Operation {
  if (op.op === 'note') return swapped<Note, typeof op>(op, note => noteAs(note, context));
  if (op.op === 'signOff') {
    return swapped<SignOff, typeof op>(op, s => ({
      segment: context.names.segment(s.segment),
      at: context.time(s.at),
      reason: s.reason === null ? null : textAs(s.reason, context),
    }));
  }
  if (op.op === 'samplePlan')
    return swapped<SamplePlan, typeof op>(op, p => ({ ...p, segment: context.names.segment(p.segment) }));
  return op;
}

function noteAs(note: Note, context: Rewriting): Note {
  const { recorder, ...rest } = note;
  const shown = recorder === undefined ? {} : { recorder: context.names.recorder(recorder) };
  return { ...rest, ...shown, text: textAs(note.text, context) };
}

/** The same done to both sides, so that an edit and its undoing stay each other's inverse. */
function swapped<T, O extends { readonly before: T | null; readonly after: T | null }>(op: O, as: (item: T) => T): O {
  return { ...op, before: op.before === null ? null : as(op.before), after: op.after === null ? null : as(op.after) };
}

function factAs(fact: Fact, context: Rewriting): Fact {
  const { rater } = context.names;
  if (fact.kind === 'settledLogs') return { ...fact, a: referenceAs(fact.a, context), b: referenceAs(fact.b, context) };
  if (fact.kind === 'unblinded') return { ...fact, raters: fact.raters.map(rater) };
  if (fact.kind === 'reassigned') return { ...fact, from: rater(fact.from), to: rater(fact.to) };
  return fact;
}

function referenceAs({ rater, entries, hash }: LogReference, { names, done }: Rewriting): LogReference {
  const log = done.get(rater);
  const end = log && lastHash({ header: log.header, entries: log.entries.slice(0, entries) });
  return { rater: names.rater(rater), entries, hash: end ?? hash };
}
