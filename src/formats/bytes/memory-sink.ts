import { addStretch, piecesOf, readAcross } from '../../core/recording/pieces';
import type { LeadSamples, SampleArray } from '../../core/recording/recording';
import type { Span } from '../../core/units';
import type { SampleSink } from './source';

/** A sink that keeps every lead in memory: for small files, tests and the command line. */
export interface MemorySink extends SampleSink {
  /** Words of one lead, all that were recorded. An untouched lead is empty. */
  lead(index: number): SampleArray;
  /** The same on its time line, behind the interface that writers take; `fill` stands where nothing was recorded. */
  samples(index: number, fill?: number): LeadSamples;
  readonly leadCount: number;
  restart(): void;
}

export function memorySink(): MemorySink {
  let leads: GrowingWords[] = [];
  return {
    get leadCount() {
      return leads.length;
    },
    restart() {
      leads = [];
    },
    write(lead, words) {
      for (let i = leads.length; i <= lead; i++) leads.push(new GrowingWords());
      leads[lead]!.append(words);
    },
    skip(lead, count) {
      leads[lead]!.skip(count);
    },
    lead: index => leads[index]?.words() ?? new Int16Array(0),
    samples: (index, fill = 0) => leads[index]?.samples(fill) ?? arraySamples(new Int16Array(0)),
  };
}

export function arraySamples(words: SampleArray): LeadSamples {
  return { sampleCount: words.length, read: (start, end) => words.subarray(start, Math.min(end, words.length)) };
}

/** Doubling growth, so that many small blocks cost no more than a few large ones. */
class GrowingWords {
  private held: SampleArray = new Int16Array(0);
  private used = 0;
  private skipped = 0;
  private readonly unrecorded: Span[] = [];

  append(words: SampleArray): void {
    if (this.used + words.length > this.held.length || this.held.constructor !== words.constructor) this.grow(words);
    this.held.set(words, this.used);
    this.used += words.length;
  }

  skip(count: number): void {
    const at = this.used + this.skipped;
    addStretch(this.unrecorded, at, at + count);
    this.skipped += count;
  }

  words(): SampleArray {
    return this.held.subarray(0, this.used);
  }

  samples(fill: number): LeadSamples {
    const words = this.words();
    const pieces = piecesOf({ sampleCount: this.used + this.skipped, unrecorded: this.unrecorded });
    return {
      sampleCount: pieces.sampleCount,
      read: (start, end) => readAcross(pieces, start, end, fill, (a, b) => words.subarray(a, b)),
    };
  }

  private grow(words: SampleArray): void {
    const size = Math.max(this.used + words.length, this.used === 0 ? words.length : this.used * 2);
    const Words = words.constructor as new (length: number) => SampleArray;
    const next = new Words(size);
    next.set(this.words());
    this.held = next;
  }
}
