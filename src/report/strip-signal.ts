import type { Lead, SampleArray } from '../core/recording/recording';
import type { ExampleStrip } from '../core/report/example-strips';

/** A strip's stretch in samples of its lead, whose rate may differ from the recording's. */
export function leadStretch(
  strip: ExampleStrip,
  lead: Pick<Lead, 'samplingRateHz' | 'sampleCount'>,
): readonly [number, number] {
  const at = (sample: number) => Math.round((sample / strip.samplingRateHz) * lead.samplingRateHz);
  return [Math.min(lead.sampleCount, at(strip.start)), Math.min(lead.sampleCount, at(strip.end))];
}

/** Words in mV, to the microvolt: what a report prints. */
export function millivolts(words: SampleArray, { offset, mvPerUnit }: Pick<Lead, 'offset' | 'mvPerUnit'>): number[] {
  return Array.from(words, w => Math.round((w - offset) * mvPerUnit * 1000) / 1000);
}
