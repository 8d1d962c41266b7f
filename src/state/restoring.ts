import { readBundle } from '../formats/bundle-reader';
import { readReviewFile } from '../formats/review-file';
import { fileSource } from '../formats/source';
import { type BackupDirectory, pickDirectory } from '../storage/backup-directory';
import type { App } from './app';
import { wordsOf } from './failure-words';

/** One file of a backup folder that can be opened, or why it cannot. */
export interface FoundCopy {
  readonly file: File;
  readonly title: string;
  /** What is in it, in words. */
  readonly holds: string;
  /** How it stands to what is kept here, in words. */
  readonly here: string;
  readonly problem: string | null;
}

/** The files of the folder in use, or of one the person chooses now; null when they choose none. */
export async function lookIntoFolder(app: App): Promise<readonly FoundCopy[] | null> {
  const directory = app.backupFolder.directory() ?? (await pickDirectory(false));
  return directory && Promise.all((await copiesOf(directory)).map(file => look(app, file)));
}

async function copiesOf(directory: BackupDirectory): Promise<readonly File[]> {
  const files = (await directory.files()).filter(f => /\.(zip|jsonl)$/i.test(f.name));
  // Sessions before the reviews that belong to them.
  return [...files.filter(f => /\.zip$/i.test(f.name)), ...files.filter(f => !/\.zip$/i.test(f.name))];
}

async function look(app: App, file: File): Promise<FoundCopy> {
  try {
    return { ...(await (/\.zip$/i.test(file.name) ? sessionIn(app, file) : reviewIn(app, file))), file, problem: null };
  } catch (error) {
    return { file, title: file.name, holds: '', here: '', problem: wordsOf(error) };
  }
}

async function sessionIn(app: App, file: File) {
  const { session, logs } = (await readBundle(fileSource(file))).reviewed;
  const reviews = logs.map(l => `review of ${l.header.rater}, ${l.entries.length} entries`);
  const known = await app.library.session(session.id);
  return {
    title: session.title,
    holds: ['recording and detected marks', ...reviews].join('; '),
    here: known ? 'is here' : 'is not here',
  };
}

async function reviewIn(app: App, file: File) {
  const { log } = readReviewFile(file.name, await file.text());
  const { session, rater } = log.header;
  const here = (await app.library.log(session, rater))?.entries.length ?? 0;
  const known = await app.library.session(session);
  return {
    title: known?.title ?? session,
    holds: `review of ${rater}, ${log.entries.length} entries, last ${log.entries.at(-1)?.at.slice(0, 16).replace('T', ' ') ?? 'none'} UTC`,
    here: here > 0 ? `${here} entries here` : 'is not here',
  };
}

/** Opens them as if they had been chosen by hand: a review goes on or is added, and nothing stored is rewritten. */
export async function restore(app: App, copies: readonly FoundCopy[]): Promise<void> {
  await app.takeFiles(copies.map(c => c.file));
}
