import * as z from 'zod/mini';
import { idSchema, rater, sha256, textUpTo } from '../bundle/schema-parts';

/** What stands in the JSON of the files that hand work over: assignments and returns, format version 1. */
export const assignmentFormat = 'beat-ledger assignment';
export const returnFormat = 'beat-ledger return';
export const handoverVersion = 1;

/** ISO 8601 in UTC. */
const time = textUpTo(40);
/** By recording: SHA-256 of the words of each lead, separated by blanks. */
const signals = z.record(idSchema, textUpTo(10_000));
const member = { id: idSchema, path: textUpTo(200), bytes: z.int().check(z.minimum(0)), sha256, signals };

export const assignmentFileSchema = z.strictObject({
  format: z.literal(assignmentFormat),
  formatVersion: z.literal(handoverVersion),
  writtenBy: textUpTo(100),
  /** Tells batches apart. */
  batch: idSchema,
  title: textUpTo(500),
  rater,
  /** YYYY-MM-DD; null without a date. */
  due: z.nullable(z.string().check(z.regex(/^\d{4}-\d\d-\d\d$/))),
  assignedAt: time,
  /** One session bundle each, without any log. */
  sessions: z.array(z.strictObject(member)).check(z.minLength(1), z.maxLength(2000)),
});
export type AssignmentFile = z.infer<typeof assignmentFileSchema>;

export const returnFileSchema = z.strictObject({
  format: z.literal(returnFormat),
  formatVersion: z.literal(handoverVersion),
  writtenBy: textUpTo(100),
  batch: idSchema,
  title: textUpTo(500),
  rater,
  /** '' where dates are left out. */
  returnedAt: time,
  /** One log each, of the sessions that were begun; `signals` are those that were reviewed. */
  sessions: z
    .array(z.strictObject({ ...member, entries: z.int().check(z.minimum(1)), finished: z.boolean() }))
    .check(z.minLength(1), z.maxLength(2000)),
});
export type ReturnFile = z.infer<typeof returnFileSchema>;
