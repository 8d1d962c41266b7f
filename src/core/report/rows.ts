import type { MatchSettings } from '../marks/match';
import type { Origin } from '../recording/recording';
import type { Handling } from '../review/privacy/identifying';
import type { LookedAt } from '../review/standing/looked-at';
import type { Standing } from '../review/standing/reviewed-score';
import type { SessionClocks } from './pairs/recorder-pairs';
import type { QualityCounts } from './quality-table';
import type { StudySettings } from './study-numbers';

/** Everything that decides a report's numbers beside the reviewed sessions; printed in the report in full. */
export interface ReportSettings {
  readonly match: MatchSettings;
  readonly statistics: StudySettings;
  /** Reviews that are not finished count too, where a session has no finished one. */
  readonly includeUnfinished: boolean;
  /** By session, then recording: clocks on the session's first recorder that were set before; others are found. */
  readonly clocks: Readonly<Record<string, SessionClocks>>;
  /** The detector that goes over the signals once more, blind to all marks; absent where none was asked to. */
  readonly secondDetector?: string;
  /** What of people's names, codes, dates and words is left out; absent where all is kept. */
  readonly handling?: Handling;
}

/** One segment as reviewed: the counts that the quality rests on, and how it was looked at. */
export interface SegmentRow {
  readonly session: string;
  readonly volunteer: string;
  readonly recordingId: string;
  readonly recorder: string;
  readonly activity: string;
  readonly source: string;
  readonly startSeconds: number;
  readonly endSeconds: number;
  readonly counts: QualityCounts & { readonly missed: number; readonly wrongPeak: number; readonly extra: number };
  /** Of a settled review that of the rater who looked at less; null when the logs it settles are not here. */
  readonly coverageShare: number | null;
  readonly coverageBy: LookedAt['by'];
  /** Only final segments enter the study's numbers. */
  readonly standing: Standing;
  readonly signedOff: boolean;
  /** Why it was signed off though not all was looked at. */
  readonly signOffReason: string | null;
  readonly otherTraceUsed: number;
}

/** One session of the report. */
export interface SessionTableRow {
  readonly session: string;
  readonly volunteer: string;
  /** Whose review counts; null when there is none, and the session then enters no number. */
  readonly source: string | null;
  readonly finishedRaters: readonly string[];
  readonly settled: boolean;
  /** Logs that are damaged and therefore not counted; absent for none. */
  readonly damagedLogs?: number;
  readonly recordings: readonly {
    readonly id: string;
    readonly recorder: string;
    readonly samplingRateHz: number;
    readonly seconds: number;
    readonly startedAt: string | null;
    readonly source: string;
    /** Null in what was imported before this was kept. */
    readonly origin: Origin | null;
    readonly detectedBy: string;
    readonly detectedMarks: number;
    readonly segments: number;
  }[];
}
