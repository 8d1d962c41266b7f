import type { LeadSamples, SampleArray } from '../../core/recording/recording';
import type { SampleSink } from './source';

/** A sink that keeps every lead in memory: for small files, tests and the command line. */
export interface MemorySink extends SampleSink {
  /** Words of one lead, whole. An untouched lead is empty. */
  lead(index: number): SampleArray;
  /** The same behind the interface that writers take. */
  samples(index: number): LeadSamples;
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
    lead: index => leads[index]?.words() ?? new Int16Array(0),
    samples: index => arraySamples(leads[index]?.words() ?? new Int16Array(0)),
  };
}

export function arraySamples(words: SampleArray): LeadSamples {
  return { sampleCount: words.length, read: (start, end) => words.subarray(start, Math.min(end, words.length)) };
}

/** Doubling growth, so that many small blocks cost no more than a few large ones. */
class GrowingWords {
  private held: SampleArray = new Int16Array(0);
  private used = 0;

  append(words: SampleArray): void {
    if (this.used + words.length > this.held.length || this.held.constructor !== words.constructor) this.grow(words);
    this.held.set(words, this.used);
    this.used += words.length;
  }

  words(): SampleArray {
    return this.held.subarray(0, this.used);
  }

  private grow(words: SampleArray): void {
    const size = Math.max(this.used + words.length, this.used === 0 ? words.length : this.used * 2);
    const Words = words.constructor as new (length: number) => SampleArray;
    const next = new Words(size);
    next.set(this.words());
    this.held = next;
  }
}
