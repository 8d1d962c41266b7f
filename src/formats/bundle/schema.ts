import * as z from 'zod/mini';
import en from 'zod/v4/locales/en.js';
import { FormatError } from '../format-error';

/**
 * Shapes of what is written as JSON in a session bundle, version 1. The JSON Schema published beside the page is made
 * from these. Unknown keys are refused: within a version the shape does not change.
 */
z.config({ ...en(), jitless: true });

export const bundleFormat = 'beat-ledger session bundle';
export const bundleFormatVersion = 1;

const text = (longest: number) => z.string().check(z.maxLength(longest));
/** Letters, digits and hyphens. */
const idSchema = z.string().check(z.regex(/^[A-Za-z0-9-]{1,80}$/));
const index = z.int().check(z.minimum(0), z.maximum(0x7fffffff));
const positive = z.number().check(z.positive());
const sha256 = z.string().check(z.regex(/^[0-9a-f]{64}$/));
const span = z.strictObject({ start: index, end: index });
const rater = z.string().check(z.minLength(1), z.maxLength(64));

const leadSchema = z.strictObject({
  name: text(200),
  samplingRateHz: positive,
  sampleCount: index,
  format: z.enum(['int16', 'int32', 'float32']),
  mvPerUnit: z.number(),
  offset: z.number(),
  fileUnit: text(40),
  /** Entry of the zip with the stored words, little-endian. */
  path: text(400),
});

const recordingSchema = z.strictObject({
  id: idSchema,
  recorder: text(200),
  samplingRateHz: positive,
  sampleCount: index,
  startedAt: z.nullable(z.string().check(z.regex(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,9})?$/))),
  source: text(1000),
  leads: z.array(leadSchema).check(z.maxLength(64)),
  gaps: z.array(span).check(z.maxLength(1_000_000)),
  segments: z.array(z.strictObject({ name: text(200), start: index, end: index })).check(z.maxLength(10_000)),
  detected: z.strictObject({ by: text(200), count: index, path: text(400) }),
});

const settingsSchema = z.strictObject({ onPeakToleranceMs: positive, wrongPeakWindowMs: positive });

export const manifestSchema = z.strictObject({
  format: z.literal(bundleFormat),
  formatVersion: z.literal(bundleFormatVersion),
  writtenBy: text(100),
  session: z.strictObject({ id: idSchema, title: text(500), participant: text(100), settings: settingsSchema }),
  recordings: z.array(recordingSchema).check(z.maxLength(64)),
  logs: z.array(z.strictObject({ rater, entries: index, lastHash: sha256, path: text(400) })).check(z.maxLength(1000)),
  /** Every other entry of the zip, by path. */
  files: z.record(text(400), z.strictObject({ bytes: z.int().check(z.minimum(0)), sha256 })),
});
export type Manifest = z.infer<typeof manifestSchema>;

export const logHeaderSchema = z.strictObject({
  session: idSchema,
  rater,
  detected: z.record(idSchema, sha256),
  role: z.enum(['rater', 'adjudicator', 'learner']),
});

const note = z.strictObject({
  id: text(100),
  kind: z.enum(['comment', 'flag']),
  start: index,
  end: index,
  text: text(10_000),
});
const dismissal = z.strictObject({ reason: text(200), at: index });
const signOff = z.strictObject({ segment: text(200), at: text(40), reason: z.nullable(text(10_000)) });

/** A week in stretches of 5 s. */
const perStretch = z.array(index).check(z.maxLength(120_960));
const samplePlan = z.strictObject({
  segment: z.nullable(text(200)),
  seed: index,
  stretchSeconds: positive,
  contextSeconds: z.number().check(z.minimum(0)),
  shares: z.array(z.number().check(z.minimum(0))).check(z.maxLength(20)),
  weights: z.array(positive).check(z.minLength(1), z.maxLength(20)),
  halfWidth: z.nullable(positive),
  classes: perStretch,
  bounds: z.array(positive).check(z.maxLength(120_960)),
});
const sampled = z.strictObject({
  start: index,
  end: index,
  outcome: z.enum(['reviewed', 'skipped']),
  drawn: z.boolean(),
  place: index,
});

const operation = z.discriminatedUnion('op', [
  z.strictObject({ op: z.literal('marks'), removed: z.array(index), added: z.array(index) }),
  z.strictObject({ op: z.enum(['unreadable', 'accepted', 'seen']), removed: z.array(span), added: z.array(span) }),
  z.strictObject({ op: z.literal('note'), before: z.nullable(note), after: z.nullable(note) }),
  z.strictObject({ op: z.literal('dismissal'), before: z.nullable(dismissal), after: z.nullable(dismissal) }),
  z.strictObject({ op: z.literal('signOff'), before: z.nullable(signOff), after: z.nullable(signOff) }),
  z.strictObject({ op: z.literal('samplePlan'), before: z.nullable(samplePlan), after: z.nullable(samplePlan) }),
  z.strictObject({ op: z.literal('sampled'), before: z.nullable(sampled), after: z.nullable(sampled) }),
]);

export const logEntrySchema = z.strictObject({
  seq: index,
  at: text(40),
  recording: text(80),
  intent: z.enum([
    'accept',
    'move',
    'delete',
    'insert',
    'unreadable',
    'readable',
    'comment',
    'flag',
    'dismiss',
    'look',
    'sign off',
    'reopen',
    'settle',
    'sample',
    'skip',
    'finish',
    'restart',
  ]),
  change: z.array(operation),
  undoes: z.optional(index),
  redoes: z.optional(index),
  reason: z.optional(text(10_000)),
  origin: z.optional(text(100)),
  previous: sha256,
  hash: sha256,
});

export const studyFormat = 'beat-ledger study bundle';
/** Version 2 adds the times of activities and the clocks that were set; both may be absent, so version 1 still opens. */
export const studyFormatVersion = 2;

const clockSchema = z.strictObject({ offsetSeconds: z.number(), driftPpm: z.number(), from: text(100) });

export const studyFileSchema = z.strictObject({
  format: z.literal(studyFormat),
  formatVersion: z.literal([1, studyFormatVersion]),
  writtenBy: text(100),
  study: z.strictObject({
    id: idSchema,
    title: text(500),
    settings: settingsSchema,
    namingPattern: text(500),
    segmentTemplate: z.array(text(200)).check(z.maxLength(1000)),
    segmentSeconds: z.optional(z.record(text(200), z.tuple([z.number().check(z.minimum(0)), positive]))),
    protocol: text(1_000_000),
  }),
  /** In the order of the study. */
  sessions: z
    .array(z.strictObject({ id: idSchema, path: text(200), bytes: z.int().check(z.minimum(0)), sha256 }))
    .check(z.maxLength(2000)),
  /** By session, then recording: its clock on that of the session's first recorder. */
  clocks: z.optional(z.record(idSchema, z.record(idSchema, clockSchema))),
});
export type StudyFile = z.infer<typeof studyFileSchema>;

/** JSON Schema (draft 2020-12) of the manifest, with those of a log's first line and its entries under `$defs`. */
export function sessionBundleJsonSchema(): Record<string, unknown> {
  const { $schema: _h, ...logHeader } = z.toJSONSchema(logHeaderSchema) as Record<string, unknown>;
  const { $schema: _e, ...logEntry } = z.toJSONSchema(logEntrySchema) as Record<string, unknown>;
  return {
    title: `${bundleFormat}, version ${bundleFormatVersion}: manifest.json`,
    ...(z.toJSONSchema(manifestSchema) as Record<string, unknown>),
    $defs: { logHeader, logEntry },
  };
}

const forbiddenKeys: ReadonlySet<string> = new Set(['__proto__', 'constructor', 'prototype']);

/** Parses JSON. Keys that reach into an object's prototype throw a SyntaxError, as broken JSON does. */
export function parseJson(textOfFile: string): unknown {
  return JSON.parse(textOfFile, (key, value: unknown) => {
    if (forbiddenKeys.has(key)) throw new SyntaxError(`the key ${key} is not allowed`);
    return value;
  });
}

/** Checks parsed JSON against a shape; the FormatError names the first thing that does not fit. */
export function checked<T>(schema: z.ZodMiniType<T>, value: unknown, file: string, place: string): T {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  throw new FormatError(file, 'bundle', place, `${firstIssue(result.error)}.`, 'Export it again.');
}

export function firstIssue(error: z.core.$ZodError): string {
  const issue = error.issues[0]!;
  const where = issue.path.map(String).join('.');
  return where === '' ? issue.message : `${where}: ${issue.message}`;
}
