import { type Marks, marksFrom } from '../../core/marks/markset';
import { piecesOf, type Stretch, stretches } from '../../core/recording/pieces';
import type { Lead, Recording, SampleArray, SampleFormat } from '../../core/recording/recording';
import { distinctSegments } from '../../core/recording/segment-names';
import type { ReviewedSession, Session, SessionRecording } from '../../core/review/session';
import type { SampleIndex } from '../../core/units';
import { LineStream } from '../bytes/lines';
import type { ByteSource, ReadControl, SampleSink } from '../bytes/source';
import { FormatError } from '../format-error';
import { makeSamples } from '../timeline';
import { readZipDirectory, type ZipEntry } from '../zip/directory';
import { entrySource, unpackEntry, unpackWhole } from '../zip/entries';
import { bytesPerSample, manifestPath } from './layout';
import { LogParser } from './log-parser';
import { type DamagedLog, openLog } from './logs';
import { firstMisplaced } from './manifest';
import { bundleFormat, bundleFormatVersion, checked, type Manifest, manifestSchema, parseJson } from './schema';

/** Longest text entries that are read, in bytes. Leads have no limit of their own: they are never held whole. */
export const textLimits = { manifest: 64 * 2 ** 20, detected: 256 * 2 ** 20, log: 256 * 2 ** 20 } as const;

export interface OpenedBundle {
  /** The session with every log whose chain holds, in the order of the raters' codes. */
  readonly reviewed: ReviewedSession;
  readonly damaged: readonly DamagedLog[];
  /** In words: damaged logs, entries the manifest does not list. */
  readonly warnings: readonly string[];
  readonly writtenBy: string;
  /** By recording id: SHA-256 of each lead's words as the manifest lists them, joined by blanks. */
  readonly signalChecksums: Readonly<Record<string, string>>;
  /**
   * Unpacks a recording's leads one after the other into the sink, stretches without words as such. A changed word is a
   * FormatError at the lead's end.
   */
  readRecording(recordingId: string, sink: SampleSink, control?: ReadControl): Promise<void>;
  /** Unpacks the words kept of one lead; blocks may be reused by the reader afterwards. */
  readLead(recordingId: string, leadIndex: number, take: TakeSamples, control?: ReadControl): Promise<void>;
  /** The words kept of one lead as bytes with random access; null where they are packed. Nothing holds them against a checksum. */
  storedLead(recordingId: string, leadIndex: number): Promise<ByteSource | null>;
}

export type TakeSamples = (words: SampleArray) => void | Promise<void>;

/**
 * Opens a session bundle: everything but the signals, which stay where they are until asked for. A file that is not what
 * it claims gives a FormatError; a damaged log is reported, and the rest is opened.
 */
export async function readBundle(source: ByteSource, control: ReadControl = {}): Promise<OpenedBundle> {
  const files = new BundleFiles(source, await readZipDirectory(source));
  const manifest = await files.readManifest();
  const misplaced = firstMisplaced(manifest);
  if (misplaced) throw files.error(manifestPath, misplaced);
  const recordings: SessionRecording[] = [];
  const renamed: string[] = [];
  for (const r of manifest.recordings) {
    control.signal?.throwIfAborted();
    const item = await openRecording(files, r, control);
    const distinct = distinctSegments(item.segments);
    renamed.push(...distinct.renamed.map(words => `Recording ${r.id}: ${words}`));
    recordings.push({ ...item, segments: distinct.segments });
  }
  const { samples, requiredPractice, ...head } = manifest.session;
  const asked = requiredPractice as Session['requiredPractice'];
  const session: Session = {
    ...head,
    recordings,
    ...(samples ? { samples } : {}),
    ...(asked ? { requiredPractice: asked } : {}),
  };
  const { logs, damaged } = await openLogs(files, manifest, session, control);
  const readLead: OpenedBundle['readLead'] = (id, leadIndex, take, leadControl = {}) =>
    unpackLead(files, manifest, id, leadIndex, take, leadControl);
  return {
    reviewed: { session, logs },
    damaged,
    warnings: [...files.unlisted(), ...renamed, ...damaged.map(d => `The log of ${d.rater} is damaged: ${d.why}.`)],
    writtenBy: manifest.writtenBy,
    signalChecksums: Object.fromEntries(
      manifest.recordings.map(r => [r.id, r.leads.map(lead => files.get(lead.path).sha256).join(' ')]),
    ),
    readLead,
    async storedLead(id, leadIndex) {
      const { entry } = files.get(leadIn(manifest, id, leadIndex).path);
      return entry.method === 'stored' ? entrySource(source, entry, 0) : null;
    },
    async readRecording(id, sink, leadControl) {
      const leads = recordings.find(r => r.recording.id === id)?.recording.leads ?? [];
      for (const [i, lead] of leads.entries()) {
        const line = new LeadOnTimeLine(sink, i, lead);
        await readLead(id, i, words => line.take(words), leadControl);
        await line.finish();
      }
    },
  };
}

/** The zip's entries with what the manifest says of them. */
class BundleFiles {
  private readonly entries: Map<string, ZipEntry>;
  private listed: Manifest['files'] = {};

  constructor(
    readonly source: ByteSource,
    entries: readonly ZipEntry[],
  ) {
    this.entries = new Map(entries.map(e => [e.path, e]));
  }

  async readManifest(): Promise<Manifest> {
    const entry = this.entries.get(manifestPath);
    if (!entry) throw this.error('its entries', 'there is no manifest.json.', 'Choose a session bundle.');
    const { bytes, sameCrc } = await unpackWhole(this.source, entry, textLimits.manifest);
    if (!sameCrc) throw this.error(manifestPath, 'its bytes were changed.');
    const json = this.parse(new TextDecoder().decode(bytes));
    checkVersion(this.source.name, json);
    const manifest = checked(manifestSchema, json, this.source.name, manifestPath);
    this.listed = manifest.files;
    this.checkListed();
    return manifest;
  }

  private parse(text: string): unknown {
    try {
      return parseJson(text);
    } catch (error) {
      throw this.error(manifestPath, `it is not JSON as expected (${(error as Error).message}).`);
    }
  }

  private checkListed(): void {
    for (const [path, { bytes }] of Object.entries(this.listed)) {
      const entry = this.entries.get(path);
      if (!entry) throw this.error(`entry ${path}`, 'the manifest lists it, but it is not there.');
      if (entry.bytes !== bytes) throw this.error(`entry ${path}`, `it has ${entry.bytes} bytes, not ${bytes}.`);
    }
  }

  unlisted(): string[] {
    const extra = [...this.entries.keys()].filter(p => p !== manifestPath && !Object.hasOwn(this.listed, p));
    return extra.map(p => `The entry ${p} is not listed in the manifest and was left out.`);
  }

  /** An entry the manifest speaks of, with its checksum. */
  get(path: string): { entry: ZipEntry; sha256: string } {
    const entry = this.entries.get(path);
    const listed = Object.hasOwn(this.listed, path) ? this.listed[path] : undefined;
    if (!entry || !listed) throw this.error(`entry ${path}`, 'it is missing.');
    return { entry, sha256: listed.sha256 };
  }

  /** Unpacks an entry piece by piece; whether its bytes are those that the manifest lists. */
  async stream(
    path: string,
    maxBytes: number,
    take: (bytes: Uint8Array) => void,
    control: ReadControl,
  ): Promise<boolean> {
    const { entry, sha256 } = this.get(path);
    if (entry.bytes > maxBytes) {
      throw this.error(`entry ${path}`, `it is ${entry.bytes} bytes long; at most ${maxBytes} are read.`);
    }
    return (await unpackEntry(this.source, entry, take, control)) === sha256;
  }

  error(place: string, problem: string, remedy = 'Export or download it again.'): FormatError {
    return new FormatError(this.source.name, 'bundle', place, problem, remedy);
  }
}

function checkVersion(file: string, json: unknown): void {
  const { format, formatVersion } = (json ?? {}) as { format?: unknown; formatVersion?: unknown };
  if (format !== bundleFormat) {
    throw new FormatError(
      file,
      'bundle',
      manifestPath,
      'it is not that of a session bundle.',
      'Choose a session bundle.',
    );
  }
  if (typeof formatVersion === 'number' && formatVersion > bundleFormatVersion) {
    const problem = `it was written in format version ${formatVersion}; this program reads up to ${bundleFormatVersion}.`;
    throw new FormatError(file, 'bundle', manifestPath, problem, 'Open it with a newer version of the program.');
  }
}

async function openRecording(
  files: BundleFiles,
  r: Manifest['recordings'][number],
  control: ReadControl,
): Promise<SessionRecording> {
  const { leads, gaps, segments, detected, ...rest } = r;
  const at = (s: { start: number; end: number }) => ({ start: s.start as SampleIndex, end: s.end as SampleIndex });
  const leadOf = ({ path: _, unrecorded, ...lead }: (typeof leads)[number]): Lead => {
    return unrecorded ? { ...lead, unrecorded: unrecorded.map(at) } : lead;
  };
  const recording: Recording = { ...rest, leads: leads.map(leadOf), gaps: gaps.map(at) };
  const marks = await readMarks(files, detected.path, control);
  if (marks.length !== detected.count) {
    throw files.error(`entry ${detected.path}`, `it has ${marks.length} marks, not ${detected.count}.`);
  }
  return {
    recording,
    detected: marks,
    detectedBy: detected.by,
    segments: segments.map(s => ({ name: s.name, ...at(s) })),
  };
}

/** One column `sample`, increasing; read as it is unpacked. */
async function readMarks(files: BundleFiles, path: string, control: ReadControl): Promise<Marks> {
  const marks: number[] = [];
  let line = 0;
  const take = (text: string) => {
    line++;
    if (line === 1 && text === 'sample') return;
    if (line === 1) throw files.error(`entry ${path}`, 'it is not one column named sample.');
    const value = Number(text);
    const fits = /^\d{1,10}$/.test(text) && value <= 0x7fffffff && value > (marks.at(-1) ?? -1);
    if (!fits) throw files.error(`entry ${path}, line ${line}`, 'it is not a sample index after the one before.');
    marks.push(value);
  };
  const lines = new LineStream(100, take);
  const sameBytes = await files.stream(path, textLimits.detected, bytes => lines.push(bytes), control);
  if (!lines.finish()) throw files.error(`entry ${path}, line ${line + 1}`, 'it is not a sample index.');
  if (!sameBytes) throw files.error(`entry ${path}`, 'the detected marks were changed: its checksum differs.');
  if (line === 0) throw files.error(`entry ${path}`, 'it is not one column named sample.');
  return marksFrom(marks);
}

async function openLogs(files: BundleFiles, manifest: Manifest, session: Session, control: ReadControl) {
  const logs: ReviewedSession['logs'][number][] = [];
  const damaged: DamagedLog[] = [];
  for (const listed of manifest.logs) {
    control.signal?.throwIfAborted();
    const { parsed, sameBytes } = await parsedLog(files, listed.path, control);
    const opened = openLog(parsed, listed, session, sameBytes);
    if ('log' in opened) logs.push(opened.log);
    else damaged.push(opened.damaged);
  }
  return { logs, damaged };
}

/** Empty when the entry cannot be unpacked. */
async function parsedLog(files: BundleFiles, path: string, control: ReadControl) {
  const parser = new LogParser();
  try {
    const sameBytes = await files.stream(path, textLimits.log, bytes => parser.push(bytes), control);
    return { parsed: parser.finish(), sameBytes };
  } catch (error) {
    if (!(error instanceof FormatError)) throw error;
    return { parsed: new LogParser().finish(), sameBytes: false };
  }
}

function leadIn(manifest: Manifest, id: string, leadIndex: number): Manifest['recordings'][number]['leads'][number] {
  const lead = manifest.recordings.find(r => r.id === id)?.leads[leadIndex];
  if (!lead) throw new RangeError(`there is no lead ${leadIndex} of recording ${id}`);
  return lead;
}

async function unpackLead(
  files: BundleFiles,
  manifest: Manifest,
  id: string,
  leadIndex: number,
  take: TakeSamples,
  control: ReadControl,
): Promise<void> {
  const { path, format } = leadIn(manifest, id, leadIndex);
  const { entry, sha256 } = files.get(path);
  const words = new WordStream(format, take);
  const found = await unpackEntry(files.source, entry, bytes => words.push(bytes), control);
  if (found !== sha256) throw files.error(`entry ${path}`, 'the signal was changed: its checksum differs.');
}

/** Passes the words of a lead on where they lie on its time line. */
class LeadOnTimeLine {
  private readonly rest: Generator<Stretch>;
  /** Words still to come of the recorded stretch at hand. */
  private left = 0;

  constructor(
    private readonly sink: SampleSink,
    private readonly index: number,
    lead: Lead,
  ) {
    this.rest = stretches(piecesOf(lead), 0, lead.sampleCount, lead.sampleCount);
  }

  async take(words: SampleArray): Promise<void> {
    for (let at = 0; at < words.length; ) {
      while (this.left === 0) if (!(await this.goOn())) return;
      const count = Math.min(this.left, words.length - at);
      await this.sink.write(this.index, words.subarray(at, at + count));
      this.left -= count;
      at += count;
    }
  }

  /** What follows the last word was not recorded. */
  async finish(): Promise<void> {
    while (await this.goOn());
  }

  /** To the next stretch; false when there is none. */
  private async goOn(): Promise<boolean> {
    const { done, value } = this.rest.next();
    if (done) return false;
    const length = value.end - value.start;
    if (value.recorded) this.left = length;
    else await this.sink.skip(this.index, length);
    return true;
  }
}

/** Turns bytes cut anywhere into whole words; always copies, because unpacked pieces are not aligned. */
class WordStream {
  private readonly left = new Uint8Array(4);
  private leftBytes = 0;

  constructor(
    private readonly format: SampleFormat,
    private readonly take: TakeSamples,
  ) {}

  push(bytes: Uint8Array): void | Promise<void> {
    const width = bytesPerSample[this.format];
    const count = Math.floor((this.leftBytes + bytes.length) / width);
    const used = Math.max(0, count * width - this.leftBytes);
    const words = makeSamples(this.format, count);
    if (count > 0) {
      const raw = new Uint8Array(words.buffer);
      raw.set(this.left.subarray(0, this.leftBytes));
      raw.set(bytes.subarray(0, used), this.leftBytes);
      this.leftBytes = 0;
    }
    this.left.set(bytes.subarray(used), this.leftBytes);
    this.leftBytes += bytes.length - used;
    if (count > 0) return this.take(words);
  }
}
