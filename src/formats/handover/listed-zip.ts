import { utf8ToBytes } from '@noble/hashes/utils.js';
import type * as z from 'zod/mini';
import { canonicalJson } from '../../core/marks/log';
import { checked, parseJson } from '../bundle/schema';
import type { ByteSource, ReadControl } from '../bytes/source';
import { FormatError } from '../format-error';
import { readZipDirectory, type ZipEntry } from '../zip/directory';
import { unpackEntry, unpackWhole } from '../zip/entries';
import { joinBytes, ZipWriter } from '../zip/writer';

/** A zip whose members are listed, with their sizes and checksums, by one JSON entry that comes last. */

export const assignmentEntry = 'assignment.json';
export const returnPath = 'return.json';
/** A list of 2,000 sessions with the checksums of their leads stays below. */
const maxListBytes = 2 ** 25;

interface Listed {
  readonly path: string;
  readonly bytes: number;
  readonly sha256: string;
}

/** Which of the two files it is; null for another zip. */
export async function handoverKind(source: ByteSource): Promise<'assignment' | 'return' | null> {
  const paths = new Set((await readZipDirectory(source)).map(e => e.path));
  if (paths.has(assignmentEntry)) return 'assignment';
  return paths.has(returnPath) ? 'return' : null;
}

/** Writes members one after the other as they are, then the list that `listOf` makes of their checks. */
export async function* listedZip(
  members: Iterable<readonly [path: string, blocks: AsyncIterable<Uint8Array> | Iterable<Uint8Array>]>,
  listPath: string,
  listOf: (check: (path: string) => { readonly bytes: number; readonly sha256: string }) => unknown,
): AsyncGenerator<Uint8Array> {
  const zip = new ZipWriter(0);
  for (const [path, blocks] of members) {
    const file = zip.open(path);
    for await (const block of blocks) {
      file.push(block);
      yield* zip.take();
    }
    file.close();
  }
  const list = listOf(path => zip.checks.get(path)!);
  zip.add(listPath, utf8ToBytes(`${JSON.stringify(JSON.parse(canonicalJson(list)), null, 1)}\n`));
  zip.end();
  yield* zip.take();
}

export interface OpenedList<T> {
  readonly list: T;
  /** Whole bytes of a member, which are those that the list names; else throws a FormatError. */
  member(listed: Listed, control?: ReadControl): Promise<Uint8Array>;
  /** The same piece by piece; a piece may be reused afterwards. */
  unpack(listed: Listed, take: (bytes: Uint8Array) => void, control?: ReadControl): Promise<void>;
}

/** Throws a FormatError where the list is missing, cannot be read, or names what is not there. */
export async function openListedZip<T extends { readonly sessions: readonly Listed[] }>(
  source: ByteSource,
  listPath: string,
  schema: z.ZodMiniType<T>,
): Promise<OpenedList<T>> {
  const entries = new Map((await readZipDirectory(source)).map(e => [e.path, e] as const));
  const list = await readList(source, entries.get(listPath), listPath, schema);
  for (const { path, bytes } of list.sessions) {
    if (entries.get(path)?.bytes !== bytes) throw fault(source, path, 'it is missing or has another size.');
  }
  const unpack: OpenedList<T>['unpack'] = async ({ path, sha256 }, take, control) => {
    if ((await unpackEntry(source, entries.get(path)!, take, control)) !== sha256) {
      throw fault(source, path, 'its bytes were changed.');
    }
  };
  return {
    list,
    unpack,
    async member(listed, control) {
      const parts: Uint8Array[] = [];
      await unpack(listed, bytes => void parts.push(bytes.slice()), control);
      return joinBytes(parts);
    },
  };
}

async function readList<T>(
  source: ByteSource,
  entry: ZipEntry | undefined,
  path: string,
  schema: z.ZodMiniType<T>,
): Promise<T> {
  if (!entry) throw fault(source, path, 'it is missing.');
  const { bytes, sameCrc } = await unpackWhole(source, entry, maxListBytes);
  if (!sameCrc) throw fault(source, path, 'its bytes were changed.');
  let json: unknown;
  try {
    json = parseJson(new TextDecoder().decode(bytes));
  } catch (error) {
    throw fault(source, path, `it is not JSON as expected (${(error as Error).message}).`);
  }
  const version = (json as { formatVersion?: unknown } | null)?.formatVersion;
  if (typeof version === 'number' && version > 1) {
    throw fault(source, path, `it was written in format version ${version}; this program reads version 1.`);
  }
  return checked(schema, json, source.name, path);
}

function fault(source: ByteSource, place: string, problem: string): FormatError {
  return new FormatError(source.name, 'handover', `entry ${place}`, problem, 'Ask for the file again.');
}
