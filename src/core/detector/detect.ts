import { normalise } from '../marks/spans';
import { joinInto, lengthOf } from '../moments';
import { type SampleArray, samplesLike } from '../recording/recording';
import { type Span, span } from '../units';
import { type NoiseTuning, noiseTuning } from './noise/tuning';
import { type Detection, StretchDetector } from './stretch-detector';

export type { Detection };

export interface DetectorOptions {
  /** Stretches with no signal, in samples of the recording. */
  readonly gaps?: readonly Span[];
  /** Words that stand for 0 mV, by lead, for what was not recorded (default 0). */
  readonly zeroWords?: readonly number[];
  /** How many leads are given, all at the same rate (default 1). */
  readonly leads?: number;
  /** Other constants for the search in noise than the usual ones; for benchmarks. */
  readonly noise?: Partial<NoiseTuning>;
}

export interface Detector {
  /** Takes the next words, one array of the same length per lead, in pieces of any size. */
  push(...words: SampleArray[]): void;
  /** So many samples were not recorded; they are among the gaps. Takes no longer for a long gap than for a short one. */
  skip(count: number): void;
  finish(): Detection;
}

/** After a gap longer than this the detector begins anew, as it would with a recording of its own. */
const longestBridgedS = 60;

/** R peaks of one lead, or of several leads of one recorder, held in memory. Same as `createDetector` fed in pieces. */
export function detectBeats(
  words: SampleArray | readonly SampleArray[],
  samplingRateHz: number,
  options: Omit<DetectorOptions, 'leads'> = {},
): Detection {
  const leads = Array.isArray(words) ? (words as readonly SampleArray[]) : [words as SampleArray];
  const detector = createDetector(samplingRateHz, { ...options, leads: leads.length });
  detector.push(...leads);
  return detector.finish();
}

/**
 * R-peak detector for 100 to 2000 Hz, either polarity, in memory that does not grow with the recording except for its
 * marks. Several leads are seen as one: each counts as much as it shows here and now, and a lead that is off does not.
 * Marks sit on the R apex of the first lead where that can be seen. The result does not depend on the sizes of the
 * pieces pushed.
 */
export function createDetector(samplingRateHz: number, options: DetectorOptions = {}): Detector {
  if (!(samplingRateHz >= 50 && samplingRateHz <= 10_000))
    throw new RangeError(`sampling rate out of range: ${samplingRateHz} Hz`);
  return new PiecewiseDetector(samplingRateHz, options);
}

/** One detector for each part of the recording that no long gap divides. */
class PiecewiseDetector implements Detector {
  private readonly gaps: readonly Span[];
  private readonly tuning: NoiseTuning;
  private readonly leads: number;
  private readonly parts: { readonly start: number; readonly found: Detection }[] = [];
  private readonly unseen: Span[] = [];
  private running: StretchDetector | null = null;
  /** Where the running one began, and how far the recording has come. */
  private start = 0;
  private at = 0;
  private last: readonly SampleArray[] = [];

  constructor(
    private readonly samplingRateHz: number,
    private readonly options: DetectorOptions,
  ) {
    this.gaps = normalise(options.gaps ?? []);
    this.tuning = { ...noiseTuning, ...options.noise };
    this.leads = Math.max(1, options.leads ?? 1);
  }

  push(...words: SampleArray[]): void {
    if (!this.running) {
      this.start = this.at;
      this.running = new StretchDetector(this.samplingRateHz, this.gaps, this.at, this.tuning, this.leads);
    }
    this.running.push(...words);
    this.last = words;
    this.at += words[0]!.length;
  }

  skip(count: number): void {
    if (this.running && count <= longestBridgedS * this.samplingRateHz) {
      this.push(...this.last.map((like, k) => samplesLike(like, count).fill(this.options.zeroWords?.[k] ?? 0)));
      return;
    }
    this.settle();
    if (count > 0) this.unseen.push(span(this.at, this.at + count));
    this.at += count;
  }

  finish(): Detection {
    this.settle();
    const shifted = this.parts.map(({ start, found }) => found.samples.map(s => s + start));
    return {
      samples: joinInto(new Int32Array(lengthOf(shifted)), shifted),
      probability: joinInto(
        new Float32Array(lengthOf(shifted)),
        this.parts.map(p => p.found.probability),
      ),
      unsure: normalise([
        ...this.unseen,
        ...this.parts.flatMap(({ start, found }) => found.unsure.map(s => span(s.start + start, s.end + start))),
      ]),
    };
  }

  private settle(): void {
    if (this.running) this.parts.push({ start: this.start, found: this.running.finish() });
    this.running = null;
  }
}
