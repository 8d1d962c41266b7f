import { createDetector, type Detection } from '../core/detector/detect';
import { intersect } from '../core/marks/spans';
import { zeroWord } from '../core/recording/pieces';
import { type LeadTaker, pushLeads } from '../core/recording/push-leads';
import type { Lead } from '../core/recording/recording';
import { type Span, span } from '../core/units';
import { type LeadId, openSignalStore } from '../storage/signals';
import type { JobControl } from './worker-client';

export interface DetectInput {
  /** Leads of one rate and length; the first is the one that marks sit on. */
  readonly leads: readonly { readonly id: LeadId; readonly lead: Lead }[];
  /** Stretches without signal, in samples of the leads. */
  readonly gaps: readonly Span[];
  /** Only this part of the leads, in their samples. */
  readonly within?: Span;
}

export interface AnalysisProgress {
  /** 0 to 1. */
  readonly share: number;
}

const pieceSamples = 2 * 1024 * 1024;

/** Reads the stored leads piece by piece, so that memory does not grow with the recording. */
export async function readLeads(
  { leads, within }: DetectInput,
  control: JobControl<AnalysisProgress>,
  taker: LeadTaker,
): Promise<void> {
  const store = await openSignalStore();
  const stored = leads.map(({ id, lead }) => store.lead(id, lead));
  control.signal.throwIfAborted();
  const onPiece = (share: number) => {
    control.progress({ share });
    control.signal.throwIfAborted();
  };
  await pushLeads(leads[0]!.lead, stored, taker, { pieceSamples, onPiece, ...(within ? { within } : {}) });
}

export function detectorFor({ leads, gaps, within }: DetectInput) {
  const { samplingRateHz } = leads[0]!.lead;
  const moved = within ? intersect(gaps, [within]).map(g => span(g.start - within.start, g.end - within.start)) : gaps;
  const zeroWords = leads.map(l => zeroWord(l.lead));
  return createDetector(samplingRateHz, { gaps: moved, zeroWords, leads: leads.length });
}

/** The built-in detector over stored leads of one recorder; positions count from where it began to look. */
export async function detect(input: DetectInput, control: JobControl<AnalysisProgress>): Promise<Detection> {
  const detector = detectorFor(input);
  await readLeads(input, control, detector);
  return detector.finish();
}
