import * as z from 'zod/mini';
import { FormatError } from '../format-error';
import { logEntrySchema, logHeaderSchema, oldLogEntrySchema, samplePlan } from './entry-schema';
import { idSchema, index, positive, rater, sha256, spanSchema, textUpTo } from './schema-parts';

/**
 * Shapes of what is written as JSON in a session bundle. The JSON Schema published beside the page is made from these.
 * Unknown keys are refused: within a version the shape does not change.
 */
export const bundleFormat = 'beat-ledger session bundle';
/**
 * Version 2 has more kinds of log entries; version 3 keeps no words of what was not recorded, and says where that is.
 * Manifests of the older versions have the same shape without it.
 */
export const bundleFormatVersion = 3;

const leadSchema = z.strictObject({
  name: textUpTo(200),
  samplingRateHz: positive,
  sampleCount: index,
  /** Stretches, in samples of the lead, of which there are no words; absent where there is a word for every sample. */
  unrecorded: z.optional(z.array(spanSchema).check(z.maxLength(1_000_000))),
  format: z.enum(['int16', 'int32', 'float32']),
  mvPerUnit: z.number(),
  offset: z.number(),
  fileUnit: textUpTo(40),
  /** Entry of the zip with the stored words, little-endian. */
  path: textUpTo(400),
});

/** What the recording was made from; absent in what was imported before this was kept. */
const originSchema = z.strictObject({
  format: textUpTo(100),
  fileSha256: z.union([sha256, z.literal('')]),
  signalSha256: z.union([sha256, z.literal('')]),
  doubts: z.array(textUpTo(2000)).check(z.maxLength(1000)),
  leftOut: z.array(textUpTo(2000)).check(z.maxLength(1000)),
});

const recordingSchema = z.strictObject({
  id: idSchema,
  recorder: textUpTo(200),
  samplingRateHz: positive,
  sampleCount: index,
  startedAt: z.nullable(z.string().check(z.regex(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,9})?$/))),
  /** Minutes east of UTC of that time; absent where the file names no zone. */
  utcOffsetMinutes: z.optional(z.int().check(z.minimum(-1440), z.maximum(1440))),
  source: textUpTo(1000),
  /** Place in `leads` of the one under review; absent where it is the first at the recording's rate. */
  ecgLead: z.optional(index),
  origin: z.optional(originSchema),
  leads: z.array(leadSchema).check(z.maxLength(1000)),
  gaps: z.array(spanSchema).check(z.maxLength(1_000_000)),
  segments: z.array(z.strictObject({ name: textUpTo(200), start: index, end: index })).check(z.maxLength(10_000)),
  detected: z.strictObject({ by: textUpTo(200), count: index, path: textUpTo(400) }),
});

const settingsSchema = z.strictObject({ onPeakToleranceMs: positive, wrongPeakWindowMs: positive });

/** A sample for every rater: its stretches, and how many of them were reviewed first; null before. */
const sharedSampleSchema = z.strictObject({ recording: idSchema, plan: samplePlan, drawn: z.nullable(index) });

const requiredPracticeSchema = z.strictObject({
  passPercent: z.number().check(z.minimum(0), z.maximum(100)),
  difficulty: z.int().check(z.minimum(1), z.maximum(5)),
});

export const manifestSchema = z.strictObject({
  format: z.literal(bundleFormat),
  formatVersion: z.literal([1, 2, bundleFormatVersion]),
  writtenBy: textUpTo(100),
  session: z.strictObject({
    id: idSchema,
    title: textUpTo(500),
    participant: textUpTo(100),
    settings: settingsSchema,
    samples: z.optional(z.array(sharedSampleSchema).check(z.maxLength(10_000))),
    /** What the studies it comes from ask a rater to have practised; absent where nothing is asked. */
    requiredPractice: z.optional(z.array(requiredPracticeSchema).check(z.maxLength(100))),
  }),
  recordings: z.array(recordingSchema).check(z.maxLength(64)),
  logs: z
    .array(z.strictObject({ rater, entries: index, lastHash: sha256, path: textUpTo(400) }))
    .check(z.maxLength(1000)),
  /** Every other entry of the zip, by path. */
  files: z.record(textUpTo(400), z.strictObject({ bytes: z.int().check(z.minimum(0)), sha256 })),
});
export type Manifest = z.infer<typeof manifestSchema>;

export const studyFormat = 'beat-ledger study bundle';
/** Version 2 adds the times of activities and the clocks that were set; both may be absent, so version 1 still opens. */
export const studyFormatVersion = 2;

const clockSchema = z.strictObject({ offsetSeconds: z.number(), driftPpm: z.number(), from: textUpTo(100) });

/** What a person said of a file. */
const namedFileSchema = z.strictObject({
  participant: textUpTo(100),
  recorder: z.nullable(textUpTo(200)),
  activity: z.nullable(textUpTo(200)),
  date: z.nullable(z.string().check(z.regex(/^\d{4}-\d\d-\d\d$/))),
});

export const studyFileSchema = z.strictObject({
  format: z.literal(studyFormat),
  formatVersion: z.literal([1, studyFormatVersion]),
  writtenBy: textUpTo(100),
  study: z.strictObject({
    id: idSchema,
    title: textUpTo(500),
    settings: settingsSchema,
    namingPattern: textUpTo(2000),
    /** By path. */
    namedFiles: z.optional(z.record(textUpTo(1000), namedFileSchema)),
    segmentTemplate: z.array(textUpTo(200)).check(z.maxLength(1000)),
    segmentSeconds: z.optional(z.record(textUpTo(200), z.tuple([z.number().check(z.minimum(0)), positive]))),
    protocol: textUpTo(1_000_000),
    countedRater: z.optional(textUpTo(100)),
    requiredPractice: z.optional(requiredPracticeSchema),
  }),
  /** In the order of the study. */
  sessions: z
    .array(z.strictObject({ id: idSchema, path: textUpTo(200), bytes: z.int().check(z.minimum(0)), sha256 }))
    .check(z.maxLength(2000)),
  /** By session, then recording: its clock on that of the session's first recorder. */
  clocks: z.optional(z.record(idSchema, z.record(idSchema, clockSchema))),
});
export type StudyFile = z.infer<typeof studyFileSchema>;

/**
 * JSON Schema (draft 2020-12) of the manifest, with those of a log's first line and of its entries, those of version 1
 * too, under `$defs`.
 */
export function sessionBundleJsonSchema(): Record<string, unknown> {
  const part = (schema: z.ZodMiniType) => {
    const { $schema: _, ...rest } = z.toJSONSchema(schema) as Record<string, unknown>;
    return rest;
  };
  return {
    title: `${bundleFormat}, version ${bundleFormatVersion}: manifest.json`,
    ...(z.toJSONSchema(manifestSchema) as Record<string, unknown>),
    $defs: {
      logHeader: part(logHeaderSchema),
      logEntry: part(logEntrySchema),
      logEntryOfVersion1: part(oldLogEntrySchema),
    },
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
