import type { EditLog, LogEntry, LogHeader, WrittenEntry } from '../../core/marks/log';
import { upgradeEntry } from '../../core/marks/upgrade-entry';
import { LineStream, linesIn } from '../bytes/lines';
import { logEntrySchema, logHeaderSchema, oldLogEntrySchema } from './entry-schema';
import { firstIssue, parseJson } from './schema';

/** A log as far as it can be read. */
export interface ParsedLog {
  /** The header, or in words why the first line is none. */
  readonly header: LogHeader | string;
  readonly entries: readonly LogEntry[];
  /** What is wrong with the first entry that cannot be read, in words; null when all can. */
  readonly broken: string | null;
  /** How the file begins, for a person to look at. */
  readonly beginning: string;
}

/** Longest line; an entry that places every mark of a day is about 1 MB. */
const longestLine = 64 * 2 ** 20;
const keptBeginning = 2 ** 20;

/**
 * Reads a log line by line as its bytes come, so that memory does not grow with empty lines or with what stands behind
 * the first line that is no entry.
 */
export class LogParser {
  private readonly entries: LogEntry[] = [];
  private header: LogHeader | string | null = null;
  private broken: string | null = null;
  private beginning = '';
  private readonly lines = new LineStream(longestLine, line => this.take(line));

  push(bytes: Uint8Array): void {
    this.lines.push(bytes);
  }

  finish(): ParsedLog {
    if (!this.lines.finish()) this.fail(`is longer than ${longestLine / 2 ** 20} MiB`);
    this.header ??= 'its first line is not JSON';
    const { header, entries, broken, beginning } = this;
    return { header, entries, broken, beginning };
  }

  take(line: string): void {
    if (line === '') return;
    if (this.beginning.length < keptBeginning) this.beginning += `${line.slice(0, keptBeginning)}\n`;
    if (this.header === null) this.header = parseHeader(line);
    else if (this.broken === null) this.takeEntry(line);
  }

  private takeEntry(line: string): void {
    try {
      const json = parseJson(line);
      const isOld = (json as { version?: unknown } | null)?.version === undefined;
      const result = (isOld ? oldLogEntrySchema : logEntrySchema).safeParse(json);
      if (result.success) this.entries.push(upgradeEntry(result.data as WrittenEntry));
      else this.fail(`is not an entry: ${firstIssue(result.error)}`);
    } catch {
      this.fail('is not JSON');
    }
  }

  private fail(what: string): void {
    this.broken ??= `entry ${this.entries.length} ${what}`;
  }
}

/** A log whose text is in memory. */
export function parseLog(text: string): ParsedLog {
  const parser = new LogParser();
  for (const line of linesIn(text)) parser.take(line);
  return parser.finish();
}

export function logOf(header: LogHeader, { entries }: ParsedLog): EditLog {
  return { header, entries };
}

function parseHeader(line: string): LogHeader | string {
  try {
    const result = logHeaderSchema.safeParse(parseJson(line));
    return result.success ? result.data : `its first line is not a header: ${firstIssue(result.error)}`;
  } catch {
    return 'its first line is not JSON';
  }
}
