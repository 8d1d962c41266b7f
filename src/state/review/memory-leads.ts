import { createPyramidBuilder } from '../../core/recording/pyramid';
import type { Lead, LeadSamples, SampleArray } from '../../core/recording/recording';
import type { LeadSource } from './signals';

/** A lead that is made, not stored: all of it in memory, without gaps. */
export function memoryLead(lead: Lead, words: SampleArray): LeadSource {
  const builder = createPyramidBuilder(lead.format);
  builder.push(words);
  const samples: LeadSamples = {
    sampleCount: words.length,
    read: (start, end) => words.subarray(Math.max(0, start), Math.max(0, Math.min(end, words.length))),
  };
  return { lead, samples, pyramid: builder.finish() };
}
