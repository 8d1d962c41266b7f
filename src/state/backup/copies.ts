import { canonicalJson, type EditLog } from '../../core/marks/log';
import { sessionDifference } from '../../core/review/raters/merge';
import type { Session } from '../../core/review/session';
import { readBundle } from '../../formats/bundle/reader';
import { readReviewFile, reviewFile } from '../../formats/bundle/review-file';
import { fileSource } from '../../formats/bytes/source';
import type { BackupDirectory } from '../../storage/backup-directory';
import { openAnalysis } from '../../workers/analysis';

/**
 * What a backup folder holds: each session once with its signals as `<session>.zip`, and each review as
 * `<session>-<rater>.jsonl`, rewritten as it grows. So an edit never costs the writing of the signals. A file that is
 * there already is written over only by what goes on from it; anything else stays, and a number is added to the name.
 */
export interface Copies {
  /** Answers the name of the file. */
  review(log: EditLog): Promise<string>;
  session(session: Session): Promise<void>;
}

export function copiesIn(directory: BackupDirectory): Copies {
  let reviewName: string | null = null;
  return {
    async review(log) {
      const { name, bytes } = reviewFile(log);
      reviewName ??= await freeFor(directory, name, file => goesOnFrom(file, log));
      await directory.write(reviewName, new Blob([bytes as Uint8Array<ArrayBuffer>]));
      return reviewName;
    },
    async session(session) {
      let current = false;
      const name = await freeFor(directory, `${session.id}.zip`, async file => {
        const found = await relationTo(file, session);
        current = found === 'current';
        return found !== 'other';
      });
      if (!current) await directory.write(name, await bundleOf(session));
    },
  };
}

/** The first name that is free or whose file may be written over. */
async function freeFor(
  directory: BackupDirectory,
  wanted: string,
  mayReplace: (file: File) => Promise<boolean>,
): Promise<string> {
  const dot = wanted.lastIndexOf('.');
  for (let n = 1; ; n++) {
    const name = n === 1 ? wanted : `${wanted.slice(0, dot)}-${n}${wanted.slice(dot)}`;
    const file = await directory.file(name);
    if (!file || file.size === 0 || (await mayReplace(file))) return name;
  }
}

async function goesOnFrom(file: File, log: EditLog): Promise<boolean> {
  try {
    const { log: there, wrong } = readReviewFile(file.name, await file.text());
    const last = there.entries.length - 1;
    const sameHeader = canonicalJson(there.header) === canonicalJson(log.header);
    return wrong === null && sameHeader && (last < 0 || there.entries[last]!.hash === log.entries[last]?.hash);
  } catch {
    return false;
  }
}

/** 'older': the same recording under another division or name, without any review, so that nothing is lost with it. */
async function relationTo(file: File, session: Session): Promise<'current' | 'older' | 'other'> {
  try {
    const { reviewed } = await readBundle(fileSource(file));
    if (sessionDifference(session, reviewed.session) !== null) return 'other';
    if (canonicalJson(described(reviewed.session)) === canonicalJson(described(session))) return 'current';
    return reviewed.logs.length === 0 ? 'older' : 'other';
  } catch {
    return 'other';
  }
}

/** What a person may still change about a session. */
function described({ title, settings, recordings }: Session) {
  return { title, settings, segments: recordings.map(r => r.segments) };
}

/** In the background: a day of signals takes seconds. */
async function bundleOf(session: Session): Promise<Blob> {
  const analysis = openAnalysis();
  try {
    return await analysis.start('bundle', { reviewed: { session, logs: [] }, options: {} }).done;
  } finally {
    analysis.close();
  }
}
