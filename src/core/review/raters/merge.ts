import { canonicalJson, detectedChecksum, type EditLog, verifyChain } from '../../marks/log';
import type { Refusal } from '../edits';
import type { ReviewedSession, Session, SessionRecording } from '../session';

/** SHA-256 of each recording's stored signal by recording id, where known; compared when both sides know it. */
export type SignalChecksums = Readonly<Record<string, string>>;

export interface Merged {
  readonly merged: ReviewedSession;
  /** Raters whose log is new here. */
  readonly added: readonly string[];
  /** Raters whose log here was a beginning of the incoming one and took its further entries. */
  readonly extended: readonly string[];
  /** Differences that do not stand in the way, in words: what is here is kept. */
  readonly remarks: readonly string[];
}

/**
 * Adds the logs of an incoming copy of a session. The recordings and detected marks must be the same; an existing log is
 * never rewritten: an incoming log of the same rater code either says the same, or says less, or goes on from it.
 * Everything else is refused as a whole, naming the difference. Merging the same copy again changes nothing.
 */
export function mergeSession(
  here: ReviewedSession,
  incoming: ReviewedSession,
  signals: { readonly here?: SignalChecksums; readonly incoming?: SignalChecksums } = {},
): Merged | Refusal {
  const difference =
    sessionDifference(here.session, incoming.session) ?? signalDifference(signals.here ?? {}, signals.incoming ?? {});
  if (difference) return { refused: `Not the same recording: ${difference}.` };
  const logs = [...here.logs];
  const added: string[] = [];
  const extended: string[] = [];
  for (const log of incoming.logs) {
    const at = logs.findIndex(l => l.header.rater === log.header.rater);
    const fault = faultIn(here.session, log) ?? (at === -1 ? null : forkOf(logs[at]!, log));
    if (fault) return { refused: fault };
    if (at === -1) {
      logs.push(log);
      added.push(log.header.rater);
    } else if (log.entries.length > logs[at]!.entries.length) {
      logs[at] = log;
      extended.push(log.header.rater);
    }
  }
  return { merged: { session: here.session, logs }, added, extended, remarks: remarks(here.session, incoming.session) };
}

/** The first difference in what the logs judge, in words; null when it is the same. */
export function sessionDifference(here: Session, incoming: Session): string | null {
  if (here.id !== incoming.id) return `this is session ${here.id}, the other ${incoming.id}`;
  if (here.participant !== incoming.participant) {
    return `participant ${here.participant} here, ${incoming.participant} there`;
  }
  const there = new Map(incoming.recordings.map(r => [r.recording.id, r] as const));
  for (const item of here.recordings) {
    const other = there.get(item.recording.id);
    if (!other) return `recording ${item.recording.id} is missing there`;
    const difference = recordingDifference(item, other);
    if (difference) return `recording ${item.recording.id}: ${difference}`;
    there.delete(item.recording.id);
  }
  const [extra] = there.keys();
  return extra === undefined ? null : `recording ${extra} is only there`;
}

function recordingDifference(here: SessionRecording, there: SessionRecording): string | null {
  const fields = [
    ['sampling rate', 'samplingRateHz'],
    ['number of samples', 'sampleCount'],
    ['start', 'startedAt'],
    ['leads', 'leads'],
    ['gaps', 'gaps'],
  ] as const;
  for (const [name, key] of fields) {
    const [a, b] = [canonicalJson(here.recording[key]), canonicalJson(there.recording[key])];
    if (a !== b) return a.length + b.length < 80 ? `${name} ${a} here, ${b} there` : `${name} differ`;
  }
  if (detectedChecksum(here.detected) === detectedChecksum(there.detected)) return null;
  return `detected marks differ (${here.detected.length} here, ${there.detected.length} there)`;
}

function signalDifference(here: SignalChecksums, there: SignalChecksums): string | null {
  const id = Object.keys(here).find(k => there[k] !== undefined && there[k] !== here[k]);
  return id === undefined ? null : `the signal of recording ${id} has another checksum`;
}

/** What is wrong with an incoming log, in words; null when it is whole and judges these detected marks. */
function faultIn(session: Session, log: EditLog): string | null {
  const name = `The log of ${log.header.rater}`;
  if (log.header.session !== session.id) return `${name} belongs to session ${log.header.session}, not ${session.id}.`;
  const detected = Object.fromEntries(session.recordings.map(r => [r.recording.id, detectedChecksum(r.detected)]));
  const known = log.header.detected;
  const id = [...new Set([...Object.keys(detected), ...Object.keys(known)])].find(k => detected[k] !== known[k]);
  if (id !== undefined) return `${name} judges other detected marks of recording ${id}.`;
  const chain = verifyChain(log);
  return chain.ok ? null : `${name} is damaged: ${chain.why}.`;
}

/** Where two logs of one rater part ways; null when one is the beginning of the other. */
function forkOf(here: EditLog, incoming: EditLog): string | null {
  const { rater, role } = here.header;
  if (role !== incoming.header.role) {
    return `The code ${rater} is used here as ${role} and there as ${incoming.header.role}: one of them needs another code.`;
  }
  const shorter = Math.min(here.entries.length, incoming.entries.length);
  for (let seq = 0; seq < shorter; seq++) {
    const [a, b] = [here.entries[seq]!, incoming.entries[seq]!];
    if (a.hash === b.hash) continue;
    return (
      `The log of ${rater} here and the incoming one part at entry ${seq}: ` +
      `'${a.intent}' at ${a.at} here, '${b.intent}' at ${b.at} there. Neither is changed.`
    );
  }
  return null;
}

function remarks(here: Session, incoming: Session): string[] {
  const out: string[] = [];
  if (canonicalJson(here.settings) !== canonicalJson(incoming.settings)) {
    out.push('The other copy scores with other settings; those here are kept.');
  }
  for (const item of here.recordings) {
    const other = incoming.recordings.find(r => r.recording.id === item.recording.id);
    if (other && canonicalJson(item.segments) !== canonicalJson(other.segments)) {
      out.push(`The other copy divides recording ${item.recording.id} into other segments; those here are kept.`);
    }
  }
  return out;
}

export function isMerged(result: Merged | Refusal): result is Merged {
  return 'merged' in result;
}
