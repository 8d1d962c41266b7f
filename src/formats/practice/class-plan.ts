import * as z from 'zod/mini';
import type { ClassPlan } from '../../core/review/practice/class-plan';
import { type Difficulty, lessonKinds } from '../../core/simulate/lessons';
import { FormatError } from '../format-error';

/** A class file: JSON, `format` beat-ledger class, version 1. The same text stands in a link. */
const format = 'beat-ledger class';
const ids = lessonKinds.map(k => k.id);

const planSchema = z.strictObject({
  format: z.literal(format),
  formatVersion: z.literal(1),
  title: z.string().check(z.minLength(1), z.maxLength(200)),
  lessons: z
    .array(
      z.strictObject({
        id: z.string().check(z.refine(id => ids.includes(id), 'no such lesson')),
        difficulty: z.int().check(z.minimum(1), z.maximum(5)),
        seed: z.string().check(z.regex(/^[a-z0-9][a-z0-9-]{0,29}$/)),
      }),
    )
    .check(z.minLength(1), z.maxLength(50)),
  inOrder: z.boolean(),
  attempts: z.nullable(z.int().check(z.minimum(1), z.maximum(100))),
  deadline: z.nullable(z.string().check(z.regex(/^\d{4}-\d\d-\d\d$/))),
  passPercent: z.nullable(z.number().check(z.minimum(0), z.maximum(100))),
});

export function classPlanText(plan: ClassPlan): string {
  const { title, lessons, inOrder, attempts, deadline, passPercent } = plan;
  return JSON.stringify({ format, formatVersion: 1, title, lessons, inOrder, attempts, deadline, passPercent });
}

/** Reads a class file, or the text of a link. Throws a FormatError that names the place. */
export function readClassPlan(text: string, name: string): ClassPlan {
  const fail = (place: string, problem: string) =>
    new FormatError(name, 'class file', place, problem, 'Ask for the file or the link again.');
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    throw fail('beginning', 'This is not JSON.');
  }
  const read = planSchema.safeParse(value);
  if (!read.success) {
    const [issue] = read.error.issues;
    throw fail(issue?.path.join('.') || 'beginning', `${issue?.message ?? 'not a class file'}.`);
  }
  const { format: _, formatVersion: __, ...plan } = read.data;
  return { ...plan, lessons: plan.lessons.map(l => ({ ...l, difficulty: l.difficulty as Difficulty })) };
}
