/**
 * Limits of what is proposed as not sinus, found on eight open records (tests/bench/README.md has their figures with
 * limits from the other records alone). Shares of the usual interval and of the usual P wave; similarity as in SinusShape.
 */
export interface SinusTuning {
  /** A beat that neither looks like the sinus beats nor has their P wave on time is of another kind when it is this unlike them, */
  readonly anotherKind: number;
  /** this many times what noise and variety make of it in a family of beats, */
  readonly kindTimes: number;
  /** this many times where it is alone in its kind, */
  readonly aloneTimes: number;
  /** and this early then, where there is one lead only: the axis changes with breath and posture. */
  readonly aloneEarly: number;
  /** Beats that make a family; fewer may be artefacts. */
  readonly family: number;
  /** A beat that looks like the sinus beats or has their P wave on time is a mixture, such as a fusion beat, from here on, */
  readonly mixedUnlike: number;
  /** this many times what noise and variety make of it, */
  readonly mixedTimes: number;
  /** and this many times in each lead without much noise; the second where the shape is another although it has the P wave. */
  readonly leastTimes: number;
  readonly leastTimesConducted: number;
  /** In an irregular rhythm the shape must differ by this, less so many times its share of earliness. */
  readonly inIrregular: number;
  readonly byEarly: number;
  /** An early beat followed by a pause, where the rhythm is otherwise steady. */
  readonly early: number;
  readonly pause: number;
  readonly steady: number;
  /** So early that no pause is asked for. */
  readonly veryEarly: number;
  /** An early beat whose P wave is missing or another. */
  readonly earlyNoP: number;
  readonly noP: number;
  /** An early beat without a pause is judged where the interval before it was at least this, */
  readonly timely: number;
  /** and at most so many of the five before it were early without a pause: more are a rhythm of their own. */
  readonly hurried: number;
  /** A late beat without a P wave, the beat after it this late too: one long interval may be a pause. */
  readonly lateNoP: number;
  readonly lateP: number;
  readonly lateAfter: number;
  /** Beats beside it go with it, this late or later and with less of a P wave than this. */
  readonly goesOn: number;
  readonly goesOnP: number;
  /** P waves are relied on where they stand out of the noise by this many deviations. */
  readonly clear: number;
}

export const sinusTuning: SinusTuning = {
  anotherKind: 0.1,
  kindTimes: 0.9,
  aloneTimes: 1.5,
  aloneEarly: 0.2,
  family: 5,
  mixedUnlike: 0.15,
  mixedTimes: 2.5,
  leastTimes: 1.25,
  leastTimesConducted: 2,
  inIrregular: 0.8,
  byEarly: 0.5,
  early: 0.15,
  pause: 1.05,
  steady: 0.08,
  veryEarly: 0.25,
  earlyNoP: 0.2,
  noP: 0.2,
  timely: 0.9,
  hurried: 1,
  lateNoP: 0.15,
  lateP: 0.15,
  lateAfter: 1,
  goesOn: 1,
  goesOnP: 0.3,
  clear: 3,
};
