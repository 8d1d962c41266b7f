import type { SampleArray, SampleFormat } from '../core/recording/recording';
import type { SampleSink } from './bytes/source';
import { FormatError } from './format-error';

/** Longest time line a file may ask for. */
export const maxTimelineSeconds = 14 * 86_400;
/** Filler may exceed the real data by this factor and this many bytes, no more. */
const fillerFactor = 8;
const fillerAllowanceBytes = 2 ** 30;

/** Refuses gaps that would blow a small file up to an absurd one, before anything is written. */
export class GapBudget {
  private spentBytes = 0;

  constructor(
    private readonly file: string,
    private readonly format: string,
    private readonly realBytes: number,
  ) {}

  /** Call with the end of the time line and the filler to come. Throws a FormatError when either is too much. */
  spend(place: string, timelineSeconds: number, fillerBytes: number): void {
    this.spentBytes += fillerBytes;
    const days = (timelineSeconds / 86_400).toFixed(1);
    if (!(timelineSeconds <= maxTimelineSeconds)) this.refuse(place, `the time line would be ${days} days long.`);
    if (this.spentBytes > fillerFactor * this.realBytes + fillerAllowanceBytes) {
      this.refuse(place, `the gaps so far need ${Math.round(this.spentBytes / 2 ** 20)} MiB of filler.`);
    }
  }

  private refuse(place: string, problem: string): never {
    const remedy = `At most ${maxTimelineSeconds / 86_400} days are read: correct the time stamps or split the file.`;
    throw new FormatError(this.file, this.format, place, problem, remedy);
  }
}

const fillerBlock = 1 << 18;

/** Writes `count` filler words to one lead. */
export async function writeFiller(
  sink: SampleSink,
  lead: number,
  format: SampleFormat,
  word: number,
  count: number,
): Promise<void> {
  if (count <= 0) return;
  const block = makeSamples(format, Math.min(count, fillerBlock)).fill(word);
  for (let left = count; left > 0; left -= block.length) {
    await sink.write(lead, left < block.length ? block.subarray(0, left) : block);
  }
}

export function makeSamples(format: SampleFormat, length: number): SampleArray {
  if (format === 'int16') return new Int16Array(length);
  return format === 'int32' ? new Int32Array(length) : new Float32Array(length);
}

/** The int16 word nearest to 0 mV. */
export function zeroSample(offset: number): number {
  return Math.max(-32768, Math.min(32767, Math.round(offset))) + 0;
}
