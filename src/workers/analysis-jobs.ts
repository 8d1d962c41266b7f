import { createDetector, type Detection } from '../core/detector/detect';
import { createFeatureExtractor } from '../core/detector/suspicion/features';
import type { Lead } from '../core/recording/recording';
import type { LeadAnalysis } from '../core/review/ranking';
import type { ReviewedSession } from '../core/review/session';
import type { Span } from '../core/units';
import { type BundleOptions, bundleBlocks } from '../formats/bundle/writer';
import { selfCheck } from '../formats/self-check';
import { type LeadId, openSignalStore } from '../storage/signals';
import { reportJobs } from './report-jobs';
import type { JobControl } from './worker-client';

export interface DetectInput {
  readonly id: LeadId;
  readonly lead: Lead;
  /** Stretches without signal, in samples of the lead. */
  readonly gaps: readonly Span[];
}

export interface AnalysisProgress {
  /** 0 to 1. */
  readonly share: number;
}

const pieceSamples = 2 * 1024 * 1024;

/** The built-in detector over a stored lead, in pieces, so that memory does not grow with the recording. */
async function detect({ id, lead, gaps }: DetectInput, control: JobControl<AnalysisProgress>): Promise<Detection> {
  const stored = (await openSignalStore()).lead(id, lead);
  const detector = createDetector(lead.samplingRateHz, { gaps });
  for (let at = 0; at < lead.sampleCount; at += pieceSamples) {
    control.signal.throwIfAborted();
    detector.push(await stored.read(at, at + pieceSamples));
    control.progress({ share: at / lead.sampleCount });
  }
  return detector.finish();
}

/** What the review queue needs of a lead, in one pass. */
async function lookThrough(input: DetectInput, control: JobControl<AnalysisProgress>): Promise<LeadAnalysis> {
  const { id, lead, gaps } = input;
  const stored = (await openSignalStore()).lead(id, lead);
  const detector = createDetector(lead.samplingRateHz, { gaps });
  const features = createFeatureExtractor(lead.samplingRateHz, lead.sampleCount);
  for (let at = 0; at < lead.sampleCount; at += pieceSamples) {
    control.signal.throwIfAborted();
    const words = await stored.read(at, at + pieceSamples);
    detector.push(words);
    features.push(words);
    control.progress({ share: at / lead.sampleCount });
  }
  return { detection: detector.finish(), features: features.finish() };
}

export interface BundleInput {
  readonly reviewed: ReviewedSession;
  readonly options: BundleOptions;
}

/** A session bundle from the stored signals. The Blob's bytes may lie on disk, so a day of signals needs no memory. */
async function bundle({ reviewed, options }: BundleInput, control: JobControl<AnalysisProgress>): Promise<Blob> {
  const { session } = reviewed;
  const store = await openSignalStore();
  const total = session.recordings.flatMap(r => r.recording.leads).reduce((n, l) => n + l.sampleCount, 0);
  let done = 0;
  const leadOf = (recording: string, lead: number) => {
    const shape = session.recordings.find(r => r.recording.id === recording)!.recording.leads[lead]!;
    control.progress({ share: total > 0 ? done / total : 0 });
    done += shape.sampleCount;
    return store.lead({ session: session.id, recording, lead }, shape);
  };
  const parts: Blob[] = [];
  for await (const block of bundleBlocks(reviewed, leadOf, options)) {
    control.signal.throwIfAborted();
    parts.push(new Blob([block as Uint8Array<ArrayBuffer>]));
  }
  return new Blob(parts, { type: 'application/zip' });
}

export const analysisJobs = { detect, lookThrough, bundle, selfCheck: (_: object) => selfCheck(), ...reportJobs };
