import type { Difficulty } from '../simulate/lessons';

/** What a rater must have practised before a review can be changed. */
export interface RequiredPractice {
  /** Share of a lesson's points, in percent. */
  readonly passPercent: number;
  /** Of that lesson, at least. */
  readonly difficulty: Difficulty;
}
