import type { Marks } from '../core/marks/markset';
import type { Recording, Segment } from '../core/recording/recording';

/** What a reader hands back when the last sample has gone to the sink. */
export interface Opened {
  readonly recording: Recording;
  /** Detected marks the file carries, at the recording's rate; null when it has none. */
  readonly marks: Marks | null;
  /** Who placed the marks, as far as the file says; '' when there are none. */
  readonly marksBy: string;
  readonly segments: readonly Segment[];
  /** How the file was read, in words for the person. */
  readonly understood: readonly string[];
  /** What is wrong or doubtful, in words. */
  readonly warnings: readonly string[];
  /** Kinds of content left out on purpose (patient identification, marks past the end). */
  readonly dropped: readonly string[];
  /** Patient identification as the file has it; null when stripped or absent. */
  readonly patient: string | null;
}

/** Names the caller gives the recording; the defaults come from the file. */
export interface Naming {
  /** Letters, digits and hyphens. */
  readonly id?: string;
  readonly recorder?: string;
}

/** A recording id made of a file name: letters, digits and hyphens. */
export function idFrom(fileName: string): string {
  const stem = fileName.replace(/\.[^.]*$/, '');
  const id = stem.replace(/[^A-Za-z0-9]+/g, '-').replace(/^-+|-+$/g, '');
  return id === '' ? 'recording' : id.slice(0, 60);
}

/** Local wall time `YYYY-MM-DDTHH:MM:SS[.sss]` of milliseconds counted as if the wall clock were UTC. */
export function wallTime(ms: number): string {
  const text = new Date(Math.round(ms)).toISOString().slice(0, -1);
  return text.endsWith('.000') ? text.slice(0, -4) : text;
}

/** The reverse of `wallTime`; null when the text is not such a time. */
export function wallMs(text: string): number | null {
  if (!/^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?$/.test(text)) return null;
  const ms = Date.parse(`${text.replace(' ', 'T')}Z`);
  return Number.isFinite(ms) ? ms : null;
}
