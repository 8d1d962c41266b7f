import type { EditLog, LogHeader } from '../marks/log';
import { detectedChecksum } from '../marks/log';
import type { Marks } from '../marks/markset';
import type { MatchSettings } from '../marks/match';
import type { SamplePlan } from '../marks/sampling';
import type { Recording, Segment } from '../recording/recording';
import type { RequiredPractice } from './required-practice';

/** One recorder's recording with the marks under review. The marks never change after import. */
export interface SessionRecording {
  readonly recording: Recording;
  readonly detected: Marks;
  /** Who placed the marks: the recorder's own algorithm, or 'built-in detector 11'. */
  readonly detectedBy: string;
  /** Sorted by start, on this recording's clock. */
  readonly segments: readonly Segment[];
}

/** One participant's visit: recordings, segments, and the settings its scores are computed with. */
export interface Session {
  /** Letters, digits and hyphens; stable across export and import. */
  readonly id: string;
  readonly title: string;
  /** Participant code such as 'V01', never a name. */
  readonly participant: string;
  readonly recordings: readonly SessionRecording[];
  readonly settings: MatchSettings;
  /** Samples that were planned, for all raters; absent before the first. */
  readonly samples?: readonly SharedSample[];
  /** What the studies ask for that it was handed on from; absent: nothing. */
  readonly requiredPractice?: readonly RequiredPractice[];
}

/** A sample that one rater planned, for the others to review the same stretches blind. */
export interface SharedSample {
  readonly recording: string;
  readonly plan: SamplePlan;
  /** Stretches drawn and reviewed by whoever finished first; null before. */
  readonly drawn: number | null;
}

/** A session with every rater's log that this copy may hold. */
export interface ReviewedSession {
  readonly session: Session;
  readonly logs: readonly EditLog[];
}

export function detectedOf(session: Session): ReadonlyMap<string, Marks> {
  return new Map(session.recordings.map(r => [r.recording.id, r.detected] as const));
}

export function logHeader(session: Session, rater: string, role: LogHeader['role'] = 'rater'): LogHeader {
  const detected = Object.fromEntries(session.recordings.map(r => [r.recording.id, detectedChecksum(r.detected)]));
  return { session: session.id, rater, detected, role };
}
