import { type HintStep, hintSteps } from '../../core/review/practice/practice';
import type { PracticeLesson } from '../../core/review/practice/practice-lesson';
import type { KeyPlace, TellingFeature } from '../../core/simulate/lesson-key';
import { type Span, span } from '../../core/units';

/** A hint as far as it went: the stretch to look through, or the place. */
export interface HintShown {
  readonly place: KeyPlace;
  readonly step: Exclude<HintStep, 0>;
  readonly span: Span;
}

/** Length of the stretch that the first step of a hint names. */
const stretchSeconds = 10;

/** The stretch of whole tens of seconds that a place begins in. */
export function stretchOf({ item }: PracticeLesson, { span: place }: KeyPlace): Span {
  const { sampleCount, samplingRateHz } = item.recording;
  const length = stretchSeconds * samplingRateHz;
  const start = Math.floor(place.start / length) * length;
  return span(start, Math.min(sampleCount, Math.max(start + length, place.end)));
}

/** Null where no hint was taken. */
export function hintShown(lesson: PracticeLesson, place: KeyPlace, step: HintStep): HintShown | null {
  if (step === 0) return null;
  return { place, step, span: step === 1 ? stretchOf(lesson, place) : place.span };
}

/** What gives a place away: where the eye should go, not what is wrong. */
const featureWords: Readonly<Record<TellingFeature, string>> = {
  interval: 'look at the intervals',
  shape: 'look at the wave under the mark',
  amplitude: 'look at the height of the trace',
  noise: 'look at the noise',
};

/** A hint in words, as far as it went. */
export function hintWords({ place, step }: HintShown): string {
  const what =
    step === 1 ? 'something in this stretch is not right' : step === 2 ? 'it is here' : featureWords[place.feature];
  return `hint ${step} of ${hintSteps}: ${what}`;
}
