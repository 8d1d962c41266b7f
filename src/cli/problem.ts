import { FormatError } from '../formats/format-error';
import { UsageError } from './command';

/** What the system refused, by its code. */
const refusals: Readonly<Record<string, (path: string) => string>> = {
  EACCES: path => `no permission for ${path}: choose another place, or ask whoever owns it`,
  EPERM: path => `no permission for ${path}: choose another place, or ask whoever owns it`,
  EROFS: path => `${path} is on a disk that cannot be written to: choose another place`,
  ENOENT: path => `there is no ${path}`,
  ENOTDIR: path => `a part of ${path} is a file, not a folder: choose another place`,
  EISDIR: path => `${path} is a folder: give a file`,
  EEXIST: path => `${path} is there already, as a file: choose another name`,
  ENOSPC: path => `the disk is full: ${path} was not written. Make room, then run this again`,
  EMFILE: path => `too many files are open for ${path}: run fewer jobs at a time`,
};

/** An error in one line. Anything but a refusal is a bug; it is reported as one, still without a page of stack. */
export function problemOf(error: unknown): string {
  if (error instanceof UsageError || error instanceof FormatError) return error.message;
  if (error instanceof Error && 'code' in error) {
    const { code, path, dest, message } = error as NodeJS.ErrnoException & { dest?: string };
    const place = dest ?? path;
    const words = code !== undefined && Object.hasOwn(refusals, code) ? refusals[code] : undefined;
    return words && place !== undefined ? words(place) : message;
  }
  return `this should not happen: ${error instanceof Error ? `${error.name}: ${error.message}` : String(error)}`;
}
