import type { ByteSource, ReadControl } from '../bytes/source';
import { FormatError } from '../format-error';
import { type OpenedBundle, readBundle } from './reader';
import { readStudy } from './study';

/** Everything of a bundle looked at: schema, paths, checksums of all entries, hash chain and replay of every log. */
export interface BundleCheck {
  /** Null when the file cannot be opened at all. */
  readonly bundle: OpenedBundle | null;
  /** What is wrong, in words; empty for a sound bundle. */
  readonly problems: readonly string[];
}

export async function checkBundle(source: ByteSource, control: ReadControl = {}): Promise<BundleCheck> {
  const problems: string[] = [];
  const attempt = async <T>(act: () => Promise<T>): Promise<T | null> => {
    try {
      return await act();
    } catch (error) {
      if (!(error instanceof FormatError)) throw error;
      problems.push(error.message);
      return null;
    }
  };
  const bundle = await attempt(() => readBundle(source, control));
  if (!bundle) return { bundle, problems };
  problems.push(...bundle.warnings);
  for (const { recording } of bundle.reviewed.session.recordings) {
    for (const i of recording.leads.keys()) {
      await attempt(() => bundle.readLead(recording.id, i, () => undefined, control));
    }
  }
  return { bundle, problems };
}

/** A study bundle: its list, the checksum of each session bundle, and each of those by `checkBundle`. */
export async function checkStudy(source: ByteSource, control: ReadControl = {}): Promise<readonly string[]> {
  const { sessions, warnings } = await readStudy(source);
  const problems = [...warnings];
  for (const session of sessions) {
    if (!(await session.isUnchanged(control))) problems.push(`Session ${session.id}: its bundle was changed.`);
    const found = await checkBundle(session.source, control);
    problems.push(...found.problems.map(p => `Session ${session.id}: ${p}`));
  }
  return problems;
}
