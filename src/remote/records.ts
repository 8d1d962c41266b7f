import { utf8ToBytes } from '@noble/hashes/utils.js';
import * as z from 'zod/mini';
import { canonicalJson, sha256Hex } from '../core/marks/log';
import { firstIssue, parseJson } from '../formats/bundle/schema';
import { FormatError } from '../formats/format-error';
import type { RemoteStore } from './remote-store';

/** What stands in the JSON files of a lab's store. */

const sha256 = z.string().check(z.regex(/^[0-9a-f]{64}$/));
const count = z.int().check(z.minimum(0));
const id = z.string().check(z.regex(/^[A-Za-z0-9-]{1,80}$/));
const code = z.string().check(z.regex(/^[A-Za-z0-9_@][A-Za-z0-9_.@-]{0,63}$/));
/** ISO 8601 in UTC. */
const time = z.string().check(z.maxLength(40));

/** A session bundle, stored without compression and cut into parts. */
export const storedSessionSchema = z.strictObject({
  format: z.literal('beat-ledger stored session'),
  formatVersion: z.literal(1),
  session: id,
  title: z.string().check(z.maxLength(500)),
  /** Of the whole bundle. */
  bytes: count,
  sha256,
  /** In order; each file is named by its hash. */
  parts: z.array(z.strictObject({ sha256, bytes: z.int().check(z.minimum(1), z.maximum(8 * 2 ** 20)) })),
});
export type StoredSession = z.infer<typeof storedSessionSchema>;

/** Signs a log off for good: its first `count` entries, the last of which has the hash `head`, are the blind rating. */
export const signOffSchema = z.strictObject({ head: sha256, count, at: time });
export type StoredSignOff = z.infer<typeof signOffSchema>;

export const assignmentSchema = z.strictObject({
  session: id,
  /** Hash in the name of the session's manifest. */
  manifest: sha256,
  /** First or second rating of a session that two people rate; the only one of others is the first. */
  place: z.enum(['first', 'second', 'settles']),
  /** Day by which it should be done, YYYY-MM-DD. */
  due: z.nullable(z.string().check(z.regex(/^\d{4}-\d\d-\d\d$/))),
  assignedAt: time,
});
export type Assignment = z.infer<typeof assignmentSchema>;

/** One revision of what a study is; each is a file of its own, and the last one holds. */
export const studyRevisionSchema = z.strictObject({
  format: z.literal('beat-ledger study in a store'),
  formatVersion: z.literal(1),
  id,
  title: z.string().check(z.maxLength(500)),
  protocol: z.string().check(z.maxLength(1_000_000)),
  settings: z.strictObject({ onPeakToleranceMs: z.number(), wrongPeakWindowMs: z.number() }),
  /** How raters were assigned: from these, everybody can draw the same pairs again. */
  draws: z.array(
    z.strictObject({
      raters: z.array(code),
      sessions: z.array(id),
      doubleShare: z.number().check(z.minimum(0), z.maximum(1)),
      seed: z.int(),
      at: time,
    }),
  ),
  /** Sessions that everybody rates, to hold raters against a reference rater and over time. */
  calibration: z.optional(z.array(id)),
  /** Copies of sessions, by the ids under which raters get them once more. */
  repeats: z.optional(z.array(z.strictObject({ session: id, of: id }))),
  /** Which branch of a forked log counts, by the hash of an entry on it. */
  branches: z.array(z.strictObject({ rater: code, session: id, head: sha256, at: time })),
});
export type StudyRevision = z.infer<typeof studyRevisionSchema>;

/** All heads seen at a time, chained to the file before: what was there once cannot go unseen. */
export const headsSchema = z.strictObject({
  /** SHA-256 of the file before; null for the first. */
  previous: z.nullable(sha256),
  at: time,
  heads: z.array(z.strictObject({ rater: code, session: id, count, head: sha256, signedOff: z.boolean() })),
});
export type Heads = z.infer<typeof headsSchema>;

/** A record as it is stored: canonical JSON and a line feed, so that equal records have equal bytes. */
export function recordBytes(value: unknown): { readonly bytes: Uint8Array; readonly sha256: string } {
  const bytes = utf8ToBytes(`${canonicalJson(value)}\n`);
  return { bytes, sha256: sha256Hex(bytes) };
}

/** Throws a FormatError that names the file. */
export function parseRecord<T>(schema: z.ZodMiniType<T>, path: string, bytes: Uint8Array): T {
  const fault = (problem: string) =>
    new FormatError(path, 'store', 'its JSON', problem, 'Ask who administers the store.');
  let json: unknown;
  try {
    json = parseJson(new TextDecoder().decode(bytes));
  } catch (error) {
    throw fault(`it cannot be read (${(error as Error).message}).`);
  }
  const result = schema.safeParse(json);
  if (!result.success) throw fault(`${firstIssue(result.error)}.`);
  return result.data;
}

/** Null where there is no such file. */
export async function readRecord<T>(store: RemoteStore, schema: z.ZodMiniType<T>, path: string): Promise<T | null> {
  const bytes = await store.read(path);
  return bytes && parseRecord(schema, path, bytes);
}
