import { piecesOf, stretches } from '../core/recording/pieces';
import type { SampleArray } from '../core/recording/recording';
import type { LoadedRecording } from './recording-input';

/** Leads of one rate and length, whole: what was recorded is pushed, the length of what was not is skipped. */
export async function pushLeads(
  { recording, leads }: Pick<LoadedRecording, 'recording' | 'leads'>,
  numbers: readonly number[],
  taker: { push(...words: SampleArray[]): void; skip(count: number): void },
): Promise<void> {
  const lead = recording.leads[numbers[0]!]!;
  for (const { start, end, recorded } of stretches(piecesOf(lead), 0, lead.sampleCount, lead.sampleCount)) {
    if (!recorded) taker.skip(end - start);
    else taker.push(...(await Promise.all(numbers.map(async i => leads[i]!.read(start, end)))));
  }
}
