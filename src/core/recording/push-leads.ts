import type { Span } from '../units';
import { piecesOf, stretches } from './pieces';
import type { Lead, LeadSamples, SampleArray } from './recording';

/** What reads along: detector, features. */
export interface LeadTaker {
  push(...words: SampleArray[]): void;
  skip(count: number): void;
}

export interface PushOptions {
  /** Only this part, in samples of the leads. */
  readonly within?: Span;
  /** Samples read at a time; by default all of a stretch that was recorded. */
  readonly pieceSamples?: number;
  /** After each piece; what it throws ends the reading. */
  readonly onPiece?: (share: number) => void;
}

/** Leads of one rate and length, `lead` among them: what was recorded is pushed, the length of what was not is skipped. */
export async function pushLeads(
  lead: Lead,
  samples: readonly LeadSamples[],
  taker: LeadTaker,
  { within, pieceSamples = lead.sampleCount, onPiece }: PushOptions = {},
): Promise<void> {
  const { start, end } = within ?? { start: 0, end: lead.sampleCount };
  for (const stretch of stretches(piecesOf(lead), start, end, pieceSamples)) {
    if (!stretch.recorded) taker.skip(stretch.end - stretch.start);
    else taker.push(...(await Promise.all(samples.map(s => s.read(stretch.start, stretch.end)))));
    onPiece?.((stretch.end - start) / (end - start));
  }
}
