import { utf8ToBytes } from '@noble/hashes/utils.js';
import { canonicalJson, lastHash } from '../../core/marks/log';
import { piecesOf, stretches, wordCount } from '../../core/recording/pieces';
import type { Lead, LeadSamples, SampleArray } from '../../core/recording/recording';
import { appName, appVersion } from '../../core/report/version';
import type { ReviewedSession, SessionRecording, SharedSample } from '../../core/review/session';
import { type EntryCheck, joinBytes, type ZipLevel, ZipWriter } from '../zip/writer';
import { bytesPerSample, detectedPath, leadPath, logPath, manifestPath, plannedEntries, sampleBytes } from './layout';
import { firstMisplaced } from './manifest';
import { bundleFormat, bundleFormatVersion, firstIssue, type Manifest, manifestSchema } from './schema';

/**
 * Session bundle, format version 3 (described in public/schema/session-bundle.md): a zip with, sorted by path,
 * `logs/<rater>.jsonl`, `recordings/<id>/detected.csv`, `recordings/<id>/<n>-<lead>.<i16|i32|f32>` and, last because it
 * holds the checksums of all others, `manifest.json`. The same session gives the same bytes.
 */
export interface BundleOptions {
  /**
   * Raters whose logs go in; by default every log. A bundle for a blind rater names nobody else. Naming a rater without
   * a log throws a RangeError.
   */
  readonly raters?: readonly string[];
  readonly level?: ZipLevel;
}

/** The words kept of a lead, whole, behind its time line, or block by block in time order. */
export type LeadBlocks = SampleArray | LeadSamples | Iterable<SampleArray> | AsyncIterable<SampleArray>;

/** The whole bundle in memory, from leads in memory. */
export function writeBundle(
  reviewed: ReviewedSession,
  leads: (recordingId: string, leadIndex: number) => SampleArray,
  options: BundleOptions = {},
): Uint8Array<ArrayBuffer> {
  const shown = onlyRaters(reviewed, options.raters);
  const zip = new ZipWriter(options.level);
  for (const entry of plannedEntries(shown)) {
    if ('bytes' in entry) {
      zip.add(entry.path, entry.bytes);
      continue;
    }
    const words = leads(entry.item.recording.id, entry.leadIndex);
    const lead = new LeadCheck(entry.item, entry.leadIndex);
    lead.count(words);
    zip.add(entry.path, sampleBytes(words));
    lead.finish();
  }
  return joinBytes(finish(zip, shown));
}

/** The same bytes piece by piece, holding one block of one lead at a time. */
export async function* bundleBlocks(
  reviewed: ReviewedSession,
  leads: (recordingId: string, leadIndex: number) => LeadBlocks | Promise<LeadBlocks>,
  options: BundleOptions = {},
): AsyncGenerator<Uint8Array> {
  const shown = onlyRaters(reviewed, options.raters);
  const zip = new ZipWriter(options.level);
  for (const entry of plannedEntries(shown)) {
    if ('bytes' in entry) {
      zip.add(entry.path, entry.bytes);
      continue;
    }
    const lead = new LeadCheck(entry.item, entry.leadIndex);
    const file = zip.open(entry.path, lead.expectedBytes);
    const { id, leads: shapes } = entry.item.recording;
    for await (const words of blocksOf(await leads(id, entry.leadIndex), shapes[entry.leadIndex]!)) {
      lead.count(words);
      file.push(sampleBytes(words));
      yield* zip.take();
    }
    file.close();
    lead.finish();
    yield* zip.take();
  }
  yield* finish(zip, shown);
}

const wordsPerBlock = 1 << 18;

async function* blocksOf(lead: LeadBlocks, shape: Lead): AsyncGenerator<SampleArray> {
  if (ArrayBuffer.isView(lead)) yield lead;
  else if ('read' in lead) {
    for (const { start, end, recorded } of stretches(piecesOf(shape), 0, lead.sampleCount, wordsPerBlock)) {
      if (recorded) yield await lead.read(start, end);
    }
  } else yield* lead;
}

/** Words that are not of the lead's format, or too few or many, are a bug of the caller. */
class LeadCheck {
  private counted = 0;
  constructor(
    private readonly item: SessionRecording,
    private readonly leadIndex: number,
  ) {}

  get expectedBytes(): number {
    const lead = this.item.recording.leads[this.leadIndex]!;
    return wordCount(lead) * bytesPerSample[lead.format];
  }

  count(words: SampleArray): void {
    const { format } = this.item.recording.leads[this.leadIndex]!;
    const fits =
      words.BYTES_PER_ELEMENT === bytesPerSample[format] && words instanceof Float32Array === (format === 'float32');
    if (!fits) throw new RangeError(`lead ${this.leadIndex} of ${this.item.recording.id}: words are not ${format}`);
    this.counted += words.length;
  }

  finish(): void {
    const expected = wordCount(this.item.recording.leads[this.leadIndex]!);
    if (this.counted !== expected) {
      throw new RangeError(
        `lead ${this.leadIndex} of ${this.item.recording.id}: ${this.counted} words, not ${expected}`,
      );
    }
  }
}

function onlyRaters(reviewed: ReviewedSession, raters: readonly string[] | undefined): ReviewedSession {
  if (!raters) return reviewed;
  const logs = reviewed.logs.filter(log => raters.includes(log.header.rater));
  const missing = raters.find(r => !logs.some(log => log.header.rater === r));
  if (missing !== undefined) throw new RangeError(`there is no log of rater ${missing}`);
  return { session: reviewed.session, logs };
}

function finish(zip: ZipWriter, shown: ReviewedSession): Uint8Array[] {
  const manifest = manifestOf(shown, zip.checks);
  const valid = manifestSchema.safeParse(manifest);
  const fault = valid.success ? firstMisplaced(manifest) : firstIssue(valid.error);
  if (fault !== null) throw new RangeError(`not a session that a bundle can hold: ${fault}`);
  zip.add(manifestPath, utf8ToBytes(`${JSON.stringify(JSON.parse(canonicalJson(manifest)), null, 1)}\n`));
  zip.end();
  return zip.take();
}

/** The lists of a plan as the schema has them. */
function written({ recording, plan, drawn }: SharedSample) {
  const { shares, weights, classes, bounds } = plan;
  const lists = { shares: [...shares], weights: [...weights], classes: [...classes], bounds: [...bounds] };
  return { recording, plan: { ...plan, ...lists }, drawn };
}

function manifestOf({ session, logs }: ReviewedSession, checks: ReadonlyMap<string, EntryCheck>): Manifest {
  const { id, title, participant, settings, samples, requiredPractice } = session;
  const sorted = [...logs].sort((a, b) => (a.header.rater < b.header.rater ? -1 : 1));
  return {
    format: bundleFormat,
    formatVersion: bundleFormatVersion,
    writtenBy: `${appName} ${appVersion}`,
    session: {
      id,
      title,
      participant,
      settings,
      ...(samples ? { samples: samples.map(written) } : {}),
      ...(requiredPractice ? { requiredPractice: [...requiredPractice] } : {}),
    },
    recordings: session.recordings.map(recordingEntry),
    logs: sorted.map(log => ({
      rater: log.header.rater,
      entries: log.entries.length,
      lastHash: lastHash(log),
      path: logPath(log.header.rater),
    })),
    files: Object.fromEntries(checks),
  };
}

function recordingEntry({
  recording,
  detected,
  detectedBy,
  segments,
}: SessionRecording): Manifest['recordings'][number] {
  const { leads, gaps, origin, ...rest } = recording;
  return {
    ...rest,
    ...(origin && { origin: { ...origin, doubts: [...origin.doubts], leftOut: [...origin.leftOut] } }),
    leads: leads.map((lead, i) => leadEntry(lead, leadPath(recording.id, i, lead))),
    gaps: gaps.map(({ start, end }) => ({ start, end })),
    segments: segments.map(({ name, start, end }) => ({ name, start, end })),
    detected: { by: detectedBy, count: detected.length, path: detectedPath(recording.id) },
  };
}

function leadEntry({ unrecorded, ...lead }: Lead, path: string) {
  return { ...lead, ...(unrecorded && { unrecorded: unrecorded.map(({ start, end }) => ({ start, end })) }), path };
}
