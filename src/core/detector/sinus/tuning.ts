/**
 * Limits of what is proposed as not sinus, found on eight open records (tests/bench/README.md has their figures with
 * limits from the other records alone). Shares of the usual interval; likeness as in SinusShape.
 */
export interface SinusTuning {
  /** A beat of a further family this unlike the sinus-like beats is of another kind. */
  readonly anotherKind: number;
  /** Beats that make a family; fewer may be artefacts. */
  readonly family: number;
  /** A beat alone in its kind must be this unlike, this many times what noise makes of it, and this early. */
  readonly aloneUnlike: number;
  readonly aloneTimesNoise: number;
  readonly aloneEarly: number;
  /** Where sinus beats are all alike, a beat of their family this unlike is a mixture, such as a fusion beat. */
  readonly mixedUnlike: number;
  readonly mixedTimesVariety: number;
  /** In an irregular rhythm the shape must differ by this. */
  readonly inIrregular: number;
  /** An early beat followed by a pause, where the rhythm is otherwise steady. */
  readonly early: number;
  readonly pause: number;
  readonly steady: number;
  /** An early beat whose P wave is missing or another. */
  readonly earlyNoP: number;
  readonly noP: number;
  /** A late beat without a P wave. */
  readonly lateNoP: number;
  readonly lateP: number;
  /** Longer runs of early beats are a rhythm of their own and are not proposed one by one. */
  readonly longestRun: number;
  /** P waves are relied on where they stand out of the noise by this many deviations. */
  readonly clear: number;
}

export const sinusTuning: SinusTuning = {
  anotherKind: 0.1,
  family: 5,
  aloneUnlike: 0.27,
  aloneTimesNoise: 2.4,
  aloneEarly: 0.2,
  mixedUnlike: 0.12,
  mixedTimesVariety: 3.5,
  inIrregular: 0.6,
  early: 0.15,
  pause: 1.05,
  steady: 0.08,
  earlyNoP: 0.15,
  noP: 0.1,
  lateNoP: 0.15,
  lateP: 0.15,
  longestRun: 2,
  clear: 3,
};
