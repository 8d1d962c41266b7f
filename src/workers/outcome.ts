import { FormatError } from '../formats/format-error';
import { StorageProblem, type StorageProblemKind } from '../storage/problem';

/** A failure as plain data: errors lose their class and fields on the way between threads. */
export type Failure =
  | { readonly kind: 'cancelled' }
  | { readonly kind: 'storage'; readonly problem: StorageProblemKind; readonly detail: string }
  | { readonly kind: 'format'; readonly parts: readonly [string, string, string, string, string] }
  | { readonly kind: 'bug'; readonly name: string; readonly message: string; readonly stack: string };

export type JobOutcome<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly failure: Failure };

/** The person stopped a long job; nothing of it is kept. */
export class Cancelled extends Error {
  override readonly name = 'Cancelled';

  constructor() {
    super('Cancelled.');
  }
}

export async function jobOutcome<T>(work: () => Promise<T>): Promise<JobOutcome<T>> {
  try {
    return { ok: true, value: await work() };
  } catch (error) {
    return { ok: false, failure: failureOf(error) };
  }
}

/** The value, or the failure thrown as the error it was on the other side. */
export function resolveOutcome<T>(outcome: JobOutcome<T>): T {
  if (outcome.ok) return outcome.value;
  throw errorOf(outcome.failure);
}

function failureOf(error: unknown): Failure {
  if (error instanceof Cancelled) return { kind: 'cancelled' };
  if (error instanceof StorageProblem) return { kind: 'storage', problem: error.kind, detail: error.detail };
  if (error instanceof FormatError) {
    return { kind: 'format', parts: [error.file, error.format, error.place, error.problem, error.remedy] };
  }
  const { name, message, stack = '' } = error instanceof Error ? error : new Error(String(error));
  return { kind: 'bug', name, message, stack };
}

function errorOf(failure: Failure): Error {
  if (failure.kind === 'cancelled') return new Cancelled();
  if (failure.kind === 'storage') return new StorageProblem(failure.problem, failure.detail);
  if (failure.kind === 'format') return new FormatError(...failure.parts);
  const error = new Error(failure.message);
  error.name = failure.name;
  error.stack = failure.stack;
  return error;
}
