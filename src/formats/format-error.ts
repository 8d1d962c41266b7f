/**
 * A file that cannot be read as what it claims to be. The message names the file, the place and what to do, so that it
 * can be shown as it is.
 */
export class FormatError extends Error {
  constructor(
    /** File name as the person knows it. */
    readonly file: string,
    /** Format that was being read, e.g. 'EDF'. */
    readonly format: string,
    /** Where: 'byte 236', 'line 12, column 3', 'manifest.json'. */
    readonly place: string,
    /** What was found and what was expected. */
    readonly problem: string,
    /** What the person can do about it. */
    readonly remedy: string,
  ) {
    super(`${file} (${format}), ${place}: ${problem} ${remedy}`);
    this.name = 'FormatError';
  }
}
