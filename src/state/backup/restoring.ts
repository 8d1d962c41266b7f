import { readBundle } from '../../formats/bundle/reader';
import { readReviewFile } from '../../formats/bundle/review-file';
import { fileSource } from '../../formats/bytes/source';
import { type BackupDirectory, pickDirectory } from '../../storage/backup-directory';
import { errorMessage } from '../error-message';
import type { HasLibrary } from '../library';
import type { BackupFolder } from './folder';

/** One file of a backup folder that can be opened, or why it cannot. */
export interface FoundCopy {
  readonly file: File;
  /** Id of the session it belongs to; null where it cannot be read. */
  readonly session: string | null;
  /** The session's, as far as it is known here or from another file of the folder. */
  readonly title: string;
  /** What is in it, in words. */
  readonly holds: string;
  /** How it stands to what is kept here, in words. */
  readonly here: string;
  readonly problem: string | null;
}

/** The files of the folder in use, or of one the person chooses now; null when they choose none. */
export async function lookIntoFolder(
  app: HasLibrary & { readonly backupFolder: Pick<BackupFolder, 'directory'> },
): Promise<readonly FoundCopy[] | null> {
  const directory = app.backupFolder.directory() ?? (await pickDirectory(false));
  if (!directory) return null;
  return bySession(await Promise.all((await copiesOf(directory)).map(file => look(app, file))));
}

/** Each session with its reviews, by title; what cannot be read last. */
function bySession(found: readonly FoundCopy[]): FoundCopy[] {
  const titles = new Map(found.filter(c => isZip(c.file)).map(c => [c.session, c.title]));
  const titled = found.map(c => ({ ...c, title: (c.session !== null && titles.get(c.session)) || c.title }));
  const rank = (c: FoundCopy) => [
    c.session === null ? 1 : 0,
    c.title,
    c.session ?? '',
    isZip(c.file) ? 0 : 1,
    c.file.name,
  ];
  return titled.sort((a, b) => {
    const [x, y] = [rank(a), rank(b)];
    const i = x.findIndex((v, k) => v !== y[k]);
    return i === -1 ? 0 : x[i]! < y[i]! ? -1 : 1;
  });
}

function isZip(file: File): boolean {
  return /\.zip$/i.test(file.name);
}

async function copiesOf(directory: BackupDirectory): Promise<readonly File[]> {
  return (await directory.files()).filter(f => /\.(zip|jsonl)$/i.test(f.name));
}

async function look(app: HasLibrary, file: File): Promise<FoundCopy> {
  try {
    return { ...(await (isZip(file) ? sessionIn(app, file) : reviewIn(app, file))), file, problem: null };
  } catch (error) {
    return { file, session: null, title: file.name, holds: '', here: '', problem: errorMessage(error) };
  }
}

async function sessionIn(app: HasLibrary, file: File) {
  const { session, logs } = (await readBundle(fileSource(file))).reviewed;
  const reviews = logs.map(l => `review of ${l.header.rater}, ${l.entries.length} entries`);
  const known = await app.library.session(session.id);
  return {
    session: session.id,
    title: session.title,
    holds: ['recording and detected marks', ...reviews].join('; '),
    here: known ? 'is here' : 'is not here',
  };
}

async function reviewIn(app: HasLibrary, file: File) {
  const { log } = readReviewFile(file.name, await file.text());
  const { session, rater } = log.header;
  const here = (await app.library.log(session, rater))?.entries.length ?? 0;
  const known = await app.library.session(session);
  const last = log.entries.at(-1)?.at;
  return {
    session,
    title: known?.title ?? session,
    holds: `review of ${rater}, ${log.entries.length} entries${last ? `, last ${new Date(last).toLocaleString()}` : ''}`,
    here: here > 0 ? `${here} entries here` : 'is not here',
  };
}

/**
 * Opens them as if they had been chosen by hand, each session before its reviews: a review goes on or is added, and
 * nothing stored is rewritten.
 */
export async function restore(
  app: { importFiles(files: readonly File[]): Promise<unknown> },
  copies: readonly FoundCopy[],
): Promise<void> {
  await app.importFiles(copies.map(c => c.file));
}
