import { FormatError } from '../formats/format-error';
import { UsageError } from './command';

/** An error in one line. Anything but a refusal is a bug; it is reported as one, still without a page of stack. */
export function problemOf(error: unknown): string {
  if (error instanceof UsageError || error instanceof FormatError) return error.message;
  if (error instanceof Error && 'code' in error) return error.message;
  return `this should not happen: ${error instanceof Error ? `${error.name}: ${error.message}` : String(error)}`;
}
