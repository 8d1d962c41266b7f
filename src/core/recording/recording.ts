import type { SampleIndex, Span } from '../units';

/** Sample words as stored in the file; never widened on import, so 24 hours of int16 stay int16. */
export type SampleArray = Int16Array | Int32Array | Float32Array;
export type SampleFormat = 'int16' | 'int32' | 'float32';

/** Zeroed words of the same kind. */
export function samplesLike(words: SampleArray, length: number): SampleArray {
  if (words instanceof Int16Array) return new Int16Array(length);
  if (words instanceof Int32Array) return new Int32Array(length);
  return new Float32Array(length);
}

/** One lead. Physical value in mV = (word - offset) * mvPerUnit. */
export interface Lead {
  readonly name: string;
  /** Hz. Equal to the recording's rate for the reference lead; other leads may differ (EDF allows it). */
  readonly samplingRateHz: number;
  /** Length of the lead's time line, recorded or not. */
  readonly sampleCount: number;
  /**
   * Sorted, disjoint stretches in samples of this lead of which nothing was recorded and no word is kept. Absent where
   * there is a word for every sample.
   */
  readonly unrecorded?: readonly Span[] | undefined;
  readonly format: SampleFormat;
  readonly mvPerUnit: number;
  readonly offset: number;
  /** What the file called the unit ('mV', 'uV', 'V', ''), for the record. */
  readonly fileUnit: string;
}

/**
 * One recorder's ECG of one participant. All marks, spans and segments are sample indices at `samplingRateHz`,
 * counted on a continuous time line from the first sample; where nothing was recorded the stretch is listed in `gaps`, and
 * no words are kept of it (see `Lead.unrecorded`; what was imported before that has words of 0 mV there).
 */
export interface Recording {
  /** Unique within the session; letters, digits and hyphens. */
  readonly id: string;
  /** The recorder's name as people say it, e.g. 'chest band'. */
  readonly recorder: string;
  readonly samplingRateHz: number;
  readonly sampleCount: number;
  /** Local wall time `YYYY-MM-DDTHH:MM:SS[.sss]`, no zone; null where the file has none. */
  readonly startedAt: string | null;
  /** Minutes east of UTC of that wall time, where the file names a zone; marks and segments with a zone need it. */
  readonly utcOffsetMinutes?: number | undefined;
  readonly leads: readonly Lead[];
  /** Index of the lead under review, where one was chosen; else the first at the recording's rate. */
  readonly ecgLead?: number | undefined;
  /** Sorted, disjoint stretches with no signal. */
  readonly gaps: readonly Span[];
  /** Where it came from, for the record: file name and format. */
  readonly source: string;
  /** How it was read; absent in what was imported before this was kept. */
  readonly origin?: Origin | undefined;
}

/** What a recording was made from, and what of it was doubtful and accepted by the person who imported it. */
export interface Origin {
  /** 'EDF+C', 'text table', 'raw int16'. */
  readonly format: string;
  /** SHA-256 of the input file as it was given, in hex. */
  readonly fileSha256: string;
  /** Equal for the same signal, whatever file it came in; '' when nothing varies in it. */
  readonly signalSha256: string;
  readonly doubts: readonly string[];
  readonly leftOut: readonly string[];
}

/** A named stretch of the protocol (an activity). A segment belongs to one recording's clock. */
export interface Segment {
  readonly name: string;
  readonly start: SampleIndex;
  readonly end: SampleIndex;
}

/** Random access to one lead's stored words, without saying where they are stored. */
export interface LeadSamples {
  readonly sampleCount: number;
  /**
   * Words `[start, end)`, clipped to the lead; what was not recorded is given as words of 0 mV, so that whoever reads more
   * than a window asks for recorded stretches only. The result may be a view: read it, never write to it.
   */
  read(start: number, end: number): SampleArray | Promise<SampleArray>;
}

export function durationSeconds(recording: Recording): number {
  return recording.sampleCount / recording.samplingRateHz;
}

/** The whole recording as one segment, for recordings without a protocol. */
export function wholeSegment(recording: Pick<Recording, 'sampleCount'>): Segment {
  return { name: 'whole', start: 0 as SampleIndex, end: recording.sampleCount as SampleIndex };
}
