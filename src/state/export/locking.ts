import { blockBytes, fileSource } from '../../formats/bytes/source';
import { isLocked, lockBlocks, unlockSource, WrongPassphrase } from '../../formats/locked/locked';
import type { HasUi, Jobs, PassphrasePrompt } from '../stores/ui-store';
import type { ExportFile } from './exporting';

/** NIST SP 800-63B-4, section 3.1.1.2: the least length where a passphrase is all that protects. */
const leastPassphrase = 15;

/** Why a passphrase that was typed twice will not do, in words; null when it will, or when there is none. */
export function passphraseProblem(passphrase: string, again: string): string | null {
  if (passphrase === '') return null;
  if ([...passphrase].length < leastPassphrase)
    return `The passphrase needs at least ${leastPassphrase} characters: four words that have nothing to do with each other are enough.`;
  return passphrase === again ? null : 'The two passphrases differ.';
}

/** The file with a passphrase on it; what is inside is named after it. */
export async function lockedFile({ name, blob }: ExportFile, passphrase: string): Promise<ExportFile> {
  const parts: Blob[] = [];
  for await (const part of lockBlocks(blocksOf(blob), passphrase)) parts.push(new Blob([part]));
  return { name: `${name}.locked`, blob: new Blob(parts, { type: 'application/octet-stream' }) };
}

async function* blocksOf(blob: Blob): AsyncGenerator<Uint8Array> {
  for (let at = 0; at < blob.size; at += blockBytes) {
    yield new Uint8Array(await blob.slice(at, at + blockBytes).arrayBuffer());
  }
}

export type Unlocking = HasUi<Jobs & PassphrasePrompt>;

/** A locked file unlocked, asking for its passphrase until it opens or the person gives up; any other file as it is. */
export async function unlockedFile(app: Unlocking, file: File): Promise<File> {
  if (!isLocked(new Uint8Array(await file.slice(0, 8).arrayBuffer()))) return file;
  for (let wrong = ''; ; ) {
    const passphrase = await app.ui.askPassphrase(file.name, wrong);
    if (passphrase === null) throw new Error(`${file.name} was left locked.`);
    try {
      return await unlocked(app, file, passphrase);
    } catch (error) {
      if (!(error instanceof WrongPassphrase)) throw error;
      wrong = error.message;
    }
  }
}

async function unlocked(app: HasUi<Jobs>, file: File, passphrase: string): Promise<File> {
  const job = app.ui.startJob(`Unlocking ${file.name}`);
  try {
    const source = await unlockSource(fileSource(file), passphrase);
    const parts: Blob[] = [];
    for (let at = 0; at < source.size; at += blockBytes) {
      parts.push(new Blob([(await source.read(at, at + blockBytes)) as Uint8Array<ArrayBuffer>]));
      job.progress(Math.min(1, (at + blockBytes) / source.size));
    }
    return new File(parts, file.name.replace(/\.locked$/, ''));
  } finally {
    job.end();
  }
}
