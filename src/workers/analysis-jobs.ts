import { type NotSinusProposal, notSinusProposal } from '../core/detector/sinus/kinds';
import { createFeatureExtractor } from '../core/detector/suspicion/features';
import type { Marks } from '../core/marks/markset';
import { wordCount, zeroWord } from '../core/recording/pieces';
import { type LeadAnalysis, leadAnalysis } from '../core/review/places/ranking';
import type { ReviewedSession } from '../core/review/session';
import { type BundleOptions, bundleBlocks } from '../formats/bundle/writer';
import { selfCheck } from '../formats/self-check';
import { openSignalStore } from '../storage/signals';
import { leadJobs } from './lead-jobs';
import { reportJobs } from './report-jobs';
import { type AnalysisProgress, type DetectInput, detect, detectorFor, readLeads } from './stored-leads';
import type { JobControl } from './worker-client';

export interface LookThroughInput extends DetectInput {
  /** The detected marks. */
  readonly marks: Marks;
}

/** What the review queue needs, in one pass: a second opinion on the beats, and what the leads say of the marks. */
async function lookThrough(input: LookThroughInput, control: JobControl<AnalysisProgress>): Promise<LeadAnalysis> {
  const { lead } = input.leads[0]!;
  const detector = detectorFor(input);
  const features = createFeatureExtractor(lead.samplingRateHz, wordCount(lead), input.leads.length);
  const zeros = input.leads.map(l => zeroWord(l.lead));
  await readLeads(input, control, {
    push(...words) {
      detector.push(...words);
      features.push(...words);
    },
    skip(count) {
      detector.skip(count);
      features.skip(count, ...zeros);
    },
  });
  return leadAnalysis(detector.finish(), features.finish(), input.marks, input.gaps);
}

export interface NotSinusInput extends DetectInput {
  /** The reviewed marks. */
  readonly marks: Marks;
}

/** Beats that do not look or come as the sinus beats do, with a picture of each kind; by all the leads given. */
async function notSinus(input: NotSinusInput, control: JobControl<AnalysisProgress>): Promise<NotSinusProposal> {
  const leads = input.leads.map(({ lead }) => ({
    lead,
    extractor: createFeatureExtractor(lead.samplingRateHz, wordCount(lead)),
  }));
  await readLeads(input, control, {
    push(...words) {
      for (const [i, { extractor }] of leads.entries()) extractor.push(words[i]!);
    },
    skip(count) {
      for (const { lead, extractor } of leads) extractor.skip(count, zeroWord(lead));
    },
  });
  const signals = leads.map(({ lead, extractor }) => ({ features: extractor.finish(), mvPerUnit: lead.mvPerUnit }));
  return notSinusProposal(signals, input.marks);
}

export interface BundleInput {
  readonly reviewed: ReviewedSession;
  readonly options: BundleOptions;
  /** Where the signals are stored, for a session that leaves under other names: its recordings' stored ids by new ones. */
  readonly storedAs?: { readonly session: string; readonly recordings: Readonly<Record<string, string>> };
}

/** A session bundle from the stored signals. The Blob's bytes may lie on disk, so a day of signals needs no memory. */
async function bundle(
  { reviewed, options, storedAs }: BundleInput,
  control: JobControl<AnalysisProgress>,
): Promise<Blob> {
  const { session } = reviewed;
  const store = await openSignalStore();
  const total = session.recordings.flatMap(r => r.recording.leads).reduce((n, l) => n + wordCount(l), 0);
  let done = 0;
  const leadOf = (recording: string, lead: number) => {
    const shape = session.recordings.find(r => r.recording.id === recording)!.recording.leads[lead]!;
    control.progress({ share: total > 0 ? done / total : 0 });
    done += wordCount(shape);
    const stored = {
      session: storedAs?.session ?? session.id,
      recording: storedAs?.recordings[recording] ?? recording,
    };
    return store.lead({ ...stored, lead }, shape);
  };
  const parts: Blob[] = [];
  for await (const block of bundleBlocks(reviewed, leadOf, options)) {
    control.signal.throwIfAborted();
    parts.push(new Blob([block as Uint8Array<ArrayBuffer>]));
  }
  return new Blob(parts, { type: 'application/zip' });
}

export const analysisJobs = {
  ...leadJobs,
  detect,
  lookThrough,
  notSinus,
  bundle,
  selfCheck: (_: object) => selfCheck(),
  ...reportJobs,
};
