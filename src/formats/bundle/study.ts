import { utf8ToBytes } from '@noble/hashes/utils.js';
import { canonicalJson } from '../../core/marks/log';
import type { SessionClocks } from '../../core/report/pairs/recorder-pairs';
import { appName, appVersion } from '../../core/report/version';
import type { RequiredPractice } from '../../core/review/required-practice';
import type { Study } from '../../core/review/study/study';
import type { ByteSource, ReadControl } from '../bytes/source';
import { FormatError } from '../format-error';
import { readZipDirectory, type ZipEntry } from '../zip/directory';
import { entrySource, unpackEntry, unpackWhole } from '../zip/entries';
import { joinBytes, ZipWriter } from '../zip/writer';
import {
  checked,
  firstIssue,
  parseJson,
  type StudyFile,
  studyFileSchema,
  studyFormat,
  studyFormatVersion,
} from './schema';

/**
 * Study bundle, format version 2: a zip with one session bundle for each session, `sessions/<id>.zip`, stored as it is so
 * that it can be read without unpacking, and last `study.json` with the study, the checksum of each, and the clocks that
 * were set or found.
 */
const studyPath = 'study.json';
const sessionPath = (id: string) => `sessions/${id}.zip`;
/** Largest session bundle that is unpacked in memory when another program has compressed it again. */
const maxPackedAgain = 2 ** 30;

export interface StudySession {
  readonly id: string;
  /** The session bundle, to be opened with readBundle. */
  readonly source: ByteSource;
  /** Compares the bundle's bytes with the checksum in the study. */
  isUnchanged(control?: ReadControl): Promise<boolean>;
}

/** By session, then recording. */
export type StudyClocks = Readonly<Record<string, SessionClocks>>;

export interface OpenedStudy {
  readonly study: Study;
  /** Of sessions whose clocks were kept. */
  readonly clocks: StudyClocks;
  readonly sessions: readonly StudySession[];
  readonly warnings: readonly string[];
}

/** Writes a study piece by piece; `bundleOf` gives the bytes of each session bundle, blind copies where they are due. */
export async function* studyBlocks(
  study: Study,
  bundleOf: (sessionId: string) => AsyncIterable<Uint8Array> | Iterable<Uint8Array>,
  clocks: StudyClocks = {},
): AsyncGenerator<Uint8Array> {
  const zip = new ZipWriter(0);
  for (const id of [...study.sessions].sort()) {
    const file = zip.open(sessionPath(id));
    for await (const block of bundleOf(id)) {
      file.push(block);
      yield* zip.take();
    }
    file.close();
  }
  zip.add(
    studyPath,
    utf8ToBytes(`${JSON.stringify(JSON.parse(canonicalJson(studyFile(study, zip, clocks))), null, 1)}\n`),
  );
  zip.end();
  yield* zip.take();
}

export async function writeStudy(
  study: Study,
  bundleOf: (sessionId: string) => Uint8Array,
  clocks: StudyClocks = {},
): Promise<Uint8Array> {
  const parts: Uint8Array[] = [];
  for await (const block of studyBlocks(study, id => [bundleOf(id)], clocks)) parts.push(block);
  return joinBytes(parts);
}

function studyFile({ sessions, ...study }: Study, zip: ZipWriter, clocks: StudyClocks): StudyFile {
  const {
    id,
    title,
    settings,
    namingPattern,
    namedFiles,
    segmentTemplate,
    segmentSeconds,
    protocol,
    countedRater,
    requiredPractice,
  } = study;
  const known = Object.entries(clocks).filter(([session]) => sessions.includes(session));
  const file: StudyFile = {
    format: studyFormat,
    formatVersion: studyFormatVersion,
    writtenBy: `${appName} ${appVersion}`,
    study: {
      id,
      title,
      settings,
      namingPattern,
      ...(namedFiles && Object.keys(namedFiles).length > 0 ? { namedFiles } : {}),
      segmentTemplate: [...segmentTemplate],
      protocol,
      ...(countedRater ? { countedRater } : {}),
      ...(requiredPractice ? { requiredPractice } : {}),
      ...timesOf(segmentSeconds),
    },
    sessions: sessions.map(s => ({ id: s, path: sessionPath(s), ...zip.checks.get(sessionPath(s))! })),
    ...(known.length > 0 ? { clocks: Object.fromEntries(known) } : {}),
  };
  const valid = studyFileSchema.safeParse(file);
  if (!valid.success) throw new RangeError(`not a study that a bundle can hold: ${firstIssue(valid.error)}`);
  return file;
}

function timesOf(seconds: Study['segmentSeconds']) {
  const entries = Object.entries(seconds ?? {}).map(
    ([name, [start, end]]) => [name, [start, end] as [number, number]] as const,
  );
  return entries.length > 0 ? { segmentSeconds: Object.fromEntries(entries) } : {};
}

function practiceOf(asked: StudyFile['study']['requiredPractice']): Pick<Study, 'requiredPractice'> {
  if (!asked) return {};
  return { requiredPractice: { ...asked, difficulty: asked.difficulty as RequiredPractice['difficulty'] } };
}

/** Whether a zip is a study bundle, by its entries. */
export async function isStudyBundle(source: ByteSource): Promise<boolean> {
  return (await readZipDirectory(source)).some(e => e.path === studyPath);
}

export async function readStudy(source: ByteSource): Promise<OpenedStudy> {
  const entries = new Map((await readZipDirectory(source)).map(e => [e.path, e] as const));
  const file = await readStudyFile(source, entries.get(studyPath));
  const ids = file.sessions.map(s => s.id);
  if (new Set(ids).size < ids.length) throw studyError(source, studyPath, 'two sessions have the same id.');
  const sessions: StudySession[] = [];
  for (const listed of file.sessions) sessions.push(await openSession(source, entries.get(listed.path), listed));
  const known = new Set([studyPath, ...file.sessions.map(s => s.path)]);
  const extra = [...entries.keys()].filter(path => !known.has(path));
  const { segmentSeconds, countedRater, namedFiles, requiredPractice, ...study } = file.study;
  const given = {
    ...(segmentSeconds ? { segmentSeconds } : {}),
    ...(countedRater ? { countedRater } : {}),
    ...(namedFiles ? { namedFiles } : {}),
    ...practiceOf(requiredPractice),
  };
  return {
    study: { ...study, sessions: ids, ...given },
    clocks: file.clocks ?? {},
    sessions,
    warnings: extra.map(path => `The entry ${path} is not listed in the study and was left out.`),
  };
}

async function readStudyFile(source: ByteSource, entry: ZipEntry | undefined): Promise<StudyFile> {
  if (!entry) throw studyError(source, 'its entries', 'there is no study.json.', 'Choose a study bundle.');
  const { bytes, sameCrc } = await unpackWhole(source, entry, 2 ** 24);
  if (!sameCrc) throw studyError(source, studyPath, 'its bytes were changed.');
  let json: unknown;
  try {
    json = parseJson(new TextDecoder().decode(bytes));
  } catch (error) {
    throw studyError(source, studyPath, `it is not JSON as expected (${(error as Error).message}).`);
  }
  const version = (json as { formatVersion?: unknown } | null)?.formatVersion;
  if (typeof version === 'number' && version > studyFormatVersion) {
    const problem = `it was written in format version ${version}; this program reads up to ${studyFormatVersion}.`;
    throw studyError(source, studyPath, problem, 'Open it with a newer version of the program.');
  }
  return checked(studyFileSchema, json, source.name, studyPath);
}

async function openSession(
  source: ByteSource,
  entry: ZipEntry | undefined,
  { id, path, bytes, sha256 }: StudyFile['sessions'][number],
): Promise<StudySession> {
  if (path !== sessionPath(id)) throw studyError(source, studyPath, `the path of session ${id} is ${path}.`);
  if (!entry) throw studyError(source, `entry ${path}`, 'the study lists it, but it is not there.');
  if (entry.bytes !== bytes) throw studyError(source, `entry ${path}`, `it has ${entry.bytes} bytes, not ${bytes}.`);
  return {
    id,
    source: await entrySource(source, entry, maxPackedAgain),
    isUnchanged: async control => (await unpackEntry(source, entry, () => undefined, control)) === sha256,
  };
}

function studyError(source: ByteSource, place: string, problem: string, remedy = 'Export or download it again.') {
  return new FormatError(source.name, 'study bundle', place, problem, remedy);
}
