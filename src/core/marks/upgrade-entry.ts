import type { Change, Dismissal, Hint, Note, Operation, Settlement, SpotCheck } from './edit';
import type { Fact, LogReference } from './facts';
import type { LogEntry, WrittenEntry } from './log';
import type { OldEntry, OldNote, OldOperation } from './old-entry';

/**
 * Entries of version 1 had settlements, spot checks, hints, evidence and beats that are not sinus as sentences. This is the
 * only file that knows those sentences.
 */

/** An entry as everything but readers and writers knows it. */
export function upgradeEntry(written: WrittenEntry): LogEntry {
  if (!isOld(written) || !needsUpgrade(written)) return written as LogEntry;
  const { version: _, change, reason, origin, ...rest } = written;
  const fact = factIn(written);
  return {
    ...rest,
    change: change.flatMap(upgraded),
    ...(fact ? { fact } : reason === undefined ? {} : { reason }),
    ...(isOrigin(origin) ? { origin } : {}),
    written,
  };
}

function isOld(entry: WrittenEntry): entry is OldEntry {
  return entry.version === undefined;
}

function needsUpgrade({ change, reason, origin }: OldEntry): boolean {
  return (
    change.some(o => o.op === 'note' || o.op === 'dismissal') ||
    reason !== undefined ||
    (origin !== undefined && !isOrigin(origin))
  );
}

function isOrigin(text: string | undefined): text is NonNullable<LogEntry['origin']> {
  return text === 'A' || text === 'B' || text === 'both' || text === 'new';
}

function upgraded(o: OldOperation): Change {
  if (o.op === 'note') return [{ op: 'note', before: noteOf(o.before), after: noteOf(o.after) }];
  if (o.op !== 'dismissal') return [o];
  const [before, after] = [o.before && tagged(o.before), o.after && tagged(o.after)];
  if (before && after && before.op === after.op) {
    return [{ op: before.op, before: before.item, after: after.item } as Operation];
  }
  return [
    ...(before ? [{ op: before.op, before: before.item, after: null } as Operation] : []),
    ...(after ? [{ op: after.op, before: null, after: after.item } as Operation] : []),
  ];
}

type Tagged =
  | { readonly op: 'dismissal'; readonly item: Dismissal }
  | { readonly op: 'settlement'; readonly item: Settlement }
  | { readonly op: 'spotCheck'; readonly item: SpotCheck }
  | { readonly op: 'hint'; readonly item: Hint };

const settledWords = /^(only A|only B|placed apart|span differs): took (A|B|new)$/;
const checkedWords = /^spot check: (confirmed|changed)$/;

/** Settlements, outcomes of spot checks and hints were dismissals with a certain reason. */
function tagged(dismissal: Dismissal): Tagged {
  const { reason, at } = dismissal;
  const settled = settledWords.exec(reason);
  if (settled) {
    const [, kind, take] = settled as unknown as [string, Settlement['kind'], Settlement['take']];
    return { op: 'settlement', item: { kind, at, take } };
  }
  const checked = checkedWords.exec(reason);
  if (checked) return { op: 'spotCheck', item: { at, outcome: checked[1] as SpotCheck['outcome'] } };
  if (reason === 'hint') return { op: 'hint', item: { at } };
  return { op: 'dismissal', item: dismissal };
}

const evidenceWords = /^Other trace used as evidence: (.*?)\.?$/s;
const notSinusWords = /^\s*(ectopic|not sinus|non-sinus)/i;

/** Evidence and beats that are not sinus were comments that began with certain words. */
function noteOf(note: OldNote | null): Note | null {
  if (note?.kind !== 'comment') return note;
  const evidence = evidenceWords.exec(note.text);
  if (evidence) return { ...note, kind: 'evidence', text: '', recorder: evidence[1]! };
  return notSinusWords.test(note.text) ? { ...note, kind: 'not sinus' } : note;
}

const planWords = /^spot check: share ([\d.]+), seed (\d+), stretches of ([\d.]+) s$/;
const agreedWords = /^agreed by (\S+) \((\d+) entries, (\w+)\) as A and (\S+) \((\d+) entries, (\w+)\) as B$/;

function factIn({ intent, origin, change, reason = '' }: OldEntry): Fact | null {
  const plan = planWords.exec(reason);
  if (plan) {
    const [share, seed, stretchSeconds] = plan.slice(1).map(Number) as [number, number, number];
    return { kind: 'spotCheckPlan', share, seed, stretchSeconds };
  }
  const agreed = agreedWords.exec(reason);
  const passesThrough = intent === 'settle' && origin === 'both' && !change.some(o => o.op === 'dismissal');
  if (!agreed || !passesThrough) return null;
  const [a, b] = [agreed.slice(1, 4), agreed.slice(4)].map(reference) as [LogReference, LogReference];
  return { kind: 'settledLogs', a, b };
}

function reference(words: readonly string[]): LogReference {
  const [rater, count, hash] = words as readonly [string, string, string];
  return { rater, entries: Number(count), hash: hash === 'untouched' ? '' : hash };
}
