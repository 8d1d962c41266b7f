import { createDetector, type Detection } from '../core/detector/detect';
import type { Lead } from '../core/recording/recording';
import type { Span } from '../core/units';
import { type LeadId, openSignalStore } from '../storage/signals';
import type { JobControl } from './door';

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

export const analysisJobs = { detect };
