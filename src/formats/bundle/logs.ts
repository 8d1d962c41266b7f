import type { EditLog, LogHeader } from '../../core/marks/log';
import { canonicalJson, detectedChecksum, lastHash, tryReplay, verifyChain } from '../../core/marks/log';
import { detectedOf, type Session } from '../../core/review/session';
import { logOf, type ParsedLog, parseLog } from './log-parser';
import type { Manifest } from './schema';

/** A rater's log that is not as it was written. */
export interface DamagedLog {
  readonly rater: string;
  /** First entry that does not fit; null when the damage is not in an entry. */
  readonly seq: number | null;
  /** What is wrong, in words. */
  readonly why: string;
  /** The entries before the damage, whose chain holds; null when none can be trusted to belong here. */
  readonly sound: EditLog | null;
  /** Every entry that can be read, up to the first that cannot. */
  readonly readable: EditLog | null;
  /** How the entry of the zip begins: at most 1 MiB of it. */
  readonly text: string;
}

export type OpenedLog = { readonly log: EditLog } | { readonly damaged: DamagedLog };

type Listed = Manifest['logs'][number];

/**
 * Opens one log. `sameBytes` says whether the file has the checksum that the manifest lists. The chain is checked, and
 * that every entry applies to the marks it was written for.
 */
export function openLog(parsed: ParsedLog, listed: Listed, session: Session, sameBytes: boolean): OpenedLog {
  const { header, broken, beginning: text } = parsed;
  if (typeof header === 'string') return damage(listed, text, { seq: null, why: header });
  const log = logOf(header, parsed);
  const foreign = otherMarks(header, listed, session);
  if (foreign) return damage(listed, text, { seq: null, why: foreign, readable: log });
  const flaw = firstFlaw(log, session, broken) ?? missingEntries(log, listed);
  if (flaw) return damage(listed, text, { ...flaw, readable: log, sound: firstEntries(log, flaw.seq) });
  if (lastHash(log) === listed.lastHash && sameBytes) return { log };
  return damage(listed, text, {
    seq: null,
    why: 'it is not the log that the manifest lists',
    readable: log,
    sound: log,
  });
}

/** A log without the session it belongs to. */
export interface LoneLog {
  /** The entries whose chain holds. */
  readonly log: EditLog;
  /** What is wrong behind them, in words; null when nothing is. */
  readonly wrong: string | null;
}

/** Reads a log that comes as a file of its own, or the beginning of one; null when it does not begin as a log does. */
export function readLoneLog(text: string): LoneLog | null {
  const parsed = parseLog(text);
  const { header, broken } = parsed;
  if (typeof header === 'string') return null;
  const log = logOf(header, parsed);
  const chain = verifyChain(log);
  return chain.ok ? { log, wrong: broken } : { log: firstEntries(log, chain.seq), wrong: chain.why };
}

/** Why a log cannot be replayed on a session's marks, in words; null when it can. */
export function whyNotOf(log: EditLog, session: Session): string | null {
  return otherMarks(log.header, log.header, session) ?? firstMisfit(log, session)?.why ?? null;
}

type Flaw = Pick<DamagedLog, 'seq' | 'why'> & { readonly readable?: EditLog; readonly sound?: EditLog };

function damage(listed: Listed, text: string, flaw: Flaw): OpenedLog {
  return { damaged: { rater: listed.rater, readable: null, sound: null, text, ...flaw } };
}

function firstEntries(log: EditLog, count: number): EditLog {
  return { header: log.header, entries: log.entries.slice(0, count) };
}

interface EntryFlaw {
  readonly seq: number;
  readonly why: string;
}

function firstFlaw(log: EditLog, session: Session, broken: string | null): EntryFlaw | null {
  const chain = verifyChain(log);
  if (!chain.ok) return { seq: chain.seq, why: chain.why };
  return firstMisfit(log, session) ?? (broken === null ? null : { seq: log.entries.length, why: broken });
}

function missingEntries(log: EditLog, listed: Listed): EntryFlaw | null {
  const missing = listed.entries - log.entries.length;
  if (missing <= 0) return null;
  return { seq: log.entries.length, why: `${missing} of its ${listed.entries} entries are missing at the end` };
}

/** Why the log does not belong to this session's marks; null when it does. */
function otherMarks(header: LogHeader, listed: Pick<Listed, 'rater'>, session: Session): string | null {
  if (header.rater !== listed.rater) return `it is signed by ${header.rater}`;
  if (header.session !== session.id) return `it belongs to session ${header.session}`;
  const own = Object.fromEntries(session.recordings.map(r => [r.recording.id, detectedChecksum(r.detected)]));
  return canonicalJson(own) === canonicalJson(header.detected) ? null : 'it judges other detected marks than these';
}

function firstMisfit(log: EditLog, session: Session): EntryFlaw | null {
  const result = tryReplay(log, detectedOf(session));
  if (!('why' in result)) return null;
  return { seq: result.seq, why: `entry ${result.seq} does not fit the marks: ${result.why}` };
}
