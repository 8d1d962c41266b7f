import type { EditLog, LogHeader } from '../../core/marks/log';
import { FormatError } from '../format-error';
import { logLines, logPath } from './layout';
import { type LoneLog, readLoneLog } from './logs';

/**
 * One rater's review as a file of its own: the very bytes that a session bundle holds as `logs/<rater>.jsonl`. It is
 * small, as it has no signals; it belongs to a session that has to be there already.
 */
export function reviewFile(log: EditLog): { readonly name: string; readonly bytes: Uint8Array } {
  return { name: reviewFileName(log.header), bytes: logLines(log) };
}

function reviewFileName({ session, rater }: Pick<LogHeader, 'session' | 'rater'>): string {
  return `${session}-${logPath(rater).slice('logs/'.length)}`;
}

/** Logs are canonical JSON, so the first key of the header comes first. */
export function beginsAsReview(firstBytes: Uint8Array): boolean {
  return new TextDecoder().decode(firstBytes).startsWith('{"detected":{');
}

/** Bytes of a file's beginning that `beginsAsReview` needs. */
export const reviewBeginningBytes = 16;

/** A review file that is cut off gives the entries before the cut; one without a header is a FormatError. */
export function readReviewFile(name: string, text: string): LoneLog {
  const found = readLoneLog(text);
  if (found) return found;
  throw new FormatError(name, 'review', 'line 1', 'it is not the header of a review.', 'Download the file again.');
}
