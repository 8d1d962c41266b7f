import type { MatchSettings } from '../../marks/match';
import type { RequiredPractice } from '../required-practice';
import type { NamedFile } from './naming';

/** Many sessions under one protocol: participants x activities x recorders. */
export interface Study {
  /** Letters, digits and hyphens. */
  readonly id: string;
  readonly title: string;
  /** Ids of its sessions, in the order of the lists. */
  readonly sessions: readonly string[];
  /** Settings every session of the study is scored with. */
  readonly settings: MatchSettings;
  /** How files are named, e.g. '{participant}_{recorder}', one pattern a line; '' when there is no rule. */
  readonly namingPattern: string;
  /** By path: what a person said of files whose names say something else, or nothing. */
  readonly namedFiles?: Readonly<Record<string, NamedFile>>;
  /** Names of the activities in the order in which they are done. */
  readonly segmentTemplate: readonly string[];
  /** By name, in s from a recording's start: where an activity lies on recordings that come without segments. */
  readonly segmentSeconds?: Readonly<Record<string, readonly [start: number, end: number]>>;
  /** What raters are to follow, as they wrote it. */
  readonly protocol: string;
  /**
   * Code of the rater whose finished review counts for a volunteer without an adjudicated one; without it, that of the
   * rater first by code.
   */
  readonly countedRater?: string;
  /** Absent: none. */
  readonly requiredPractice?: RequiredPractice;
}
