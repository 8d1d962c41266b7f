import * as z from 'zod/mini';
import type { Intent } from '../../core/marks/log';
import type { OldEntry } from '../../core/marks/old-entry';
import { mostStretches } from '../../core/marks/sampling';
import { idSchema, index, positive, rater, sha256, spanSchema, textUpTo } from './schema-parts';

/** Shapes of the lines of a log. Each entry says its own version, so that a log begun in version 1 goes on in version 2. */

export const logHeaderSchema = z.strictObject({
  session: idSchema,
  rater,
  detected: z.record(idSchema, sha256),
  role: z.enum(['rater', 'adjudicator', 'learner']),
});

const oldIntents = [
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
  'finish',
  'restart',
] as const;
/** Those of version 2 alone. Checked against the type, so that none is forgotten here. */
const laterIntents = {
  evidence: true,
  'not sinus': true,
  hint: true,
  skip: true,
  sample: true,
  plan: true,
  unblind: true,
  reassign: true,
} satisfies Record<Exclude<Intent, OldEntry['intent']>, true>;

const oldNote = z.strictObject({
  id: textUpTo(100),
  kind: z.enum(['comment', 'flag']),
  start: index,
  end: index,
  text: textUpTo(10_000),
});
const note = z.strictObject({
  id: textUpTo(100),
  kind: z.enum(['comment', 'flag', 'evidence', 'not sinus']),
  start: index,
  end: index,
  text: textUpTo(10_000),
  recorder: z.optional(textUpTo(200)),
});
const dismissal = z.strictObject({ reason: textUpTo(200), at: index });
const signOff = z.strictObject({ segment: textUpTo(200), at: textUpTo(40), reason: z.nullable(textUpTo(10_000)) });
const settlement = z.strictObject({
  kind: z.enum(['only A', 'only B', 'placed apart', 'span differs']),
  at: index,
  take: z.enum(['A', 'B', 'new']),
});
const spotCheck = z.strictObject({ at: index, outcome: z.enum(['confirmed', 'changed']) });
const hint = z.strictObject({ at: index, step: z.optional(z.literal([1, 2, 3])) });
export const samplePlan = z.strictObject({
  segment: z.nullable(textUpTo(200)),
  seed: index,
  stretchSeconds: positive,
  contextSeconds: z.number().check(z.minimum(0)),
  shares: z.array(z.number().check(z.minimum(0))).check(z.maxLength(20)),
  weights: z.array(positive).check(z.minLength(1), z.maxLength(20)),
  halfWidth: z.nullable(positive),
  classes: z.array(index).check(z.maxLength(mostStretches)),
  bounds: z.array(positive).check(z.maxLength(mostStretches)),
});
const sampled = z.strictObject({
  start: index,
  end: index,
  outcome: z.enum(['reviewed', 'skipped']),
  drawn: z.boolean(),
  place: index,
});

function swap<Op extends string, T extends z.ZodMiniType>(op: Op, item: T) {
  return z.strictObject({ op: z.literal(op), before: z.nullable(item), after: z.nullable(item) });
}

const proposedBy = z.optional(textUpTo(100));

const oldOperation = z.discriminatedUnion('op', [
  z.strictObject({ op: z.literal('marks'), removed: z.array(index), added: z.array(index) }),
  z.strictObject({
    op: z.enum(['unreadable', 'accepted', 'seen']),
    removed: z.array(spanSchema),
    added: z.array(spanSchema),
  }),
  swap('note', oldNote),
  swap('dismissal', dismissal),
  swap('signOff', signOff),
]);

const operation = z.discriminatedUnion('op', [
  z.strictObject({
    op: z.enum(['marks', 'notSinus']),
    removed: z.array(index),
    added: z.array(index),
    proposedBy,
  }),
  z.strictObject({
    op: z.enum(['unreadable', 'accepted', 'seen', 'rhythmChecked']),
    removed: z.array(spanSchema),
    added: z.array(spanSchema),
    proposedBy,
  }),
  swap('note', note),
  swap('dismissal', dismissal),
  swap('signOff', signOff),
  swap('settlement', settlement),
  swap('spotCheck', spotCheck),
  swap('hint', hint),
  swap('samplePlan', samplePlan),
  swap('sampled', sampled),
]);

const share = z.number().check(z.minimum(0), z.maximum(1));
const seed = z.int().check(z.minimum(0));
/** 12 digits or none are in logs whose first entries are of version 1. */
const logReference = z.strictObject({
  rater,
  entries: index,
  hash: z.string().check(z.regex(/^([0-9a-f]{64}|[0-9a-f]{12}|)$/)),
});

const fact = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('settledLogs'), a: logReference, b: logReference }),
  z.strictObject({ kind: z.literal('spotCheckPlan'), share, seed, stretchSeconds: positive }),
  z.strictObject({
    kind: z.literal('unblinded'),
    by: z.enum(['comparison', 'report', 'lesson', 'export', 'store']),
    raters: z.array(rater).check(z.maxLength(1000)),
  }),
  z.strictObject({ kind: z.literal('reassigned'), from: rater, to: rater }),
]);

const common = {
  seq: index,
  at: textUpTo(40),
  recording: textUpTo(80),
  undoes: z.optional(index),
  redoes: z.optional(index),
  reason: z.optional(textUpTo(10_000)),
  previous: sha256,
  hash: sha256,
};

export const oldLogEntrySchema = z.strictObject({
  ...common,
  intent: z.enum(oldIntents),
  change: z.array(oldOperation),
  origin: z.optional(textUpTo(100)),
});

export const logEntrySchema = z.strictObject({
  version: z.literal(2),
  ...common,
  intent: z.enum([...oldIntents, ...Object.keys(laterIntents)]),
  change: z.array(operation),
  fact: z.optional(fact),
  origin: z.optional(z.enum(['A', 'B', 'both', 'new'])),
});
