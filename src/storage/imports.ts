import { type Collection, collection } from './collection';
import type { Database } from './database';

/**
 * An import that has begun. The record is removed when the session is stored, so one found on start-up belongs to an
 * import that a closed tab left unfinished. The file itself is not kept: the person chooses it again.
 */
export interface ImportRecord {
  readonly session: string;
  readonly recording: string;
  readonly fileName: string;
  readonly fileBytes: number;
  /** ISO 8601 in UTC. */
  readonly startedAt: string;
  readonly doneBytes: number;
}

/** Keyed by session and recording. */
export function importRecords(database: Database): Collection<ImportRecord> {
  return collection<ImportRecord>(database, 'import');
}
