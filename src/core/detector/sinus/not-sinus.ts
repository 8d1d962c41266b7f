import type { Marks } from '../../marks/markset';
import type { SampleIndex } from '../../units';
import type { LeadSignal } from './beat-waves';
import { byShape } from './by-shape';
import { withReasonsByTime } from './by-time';
import { type BeatMeasures, beatMeasures } from './measures';
import type { NotSinusReason } from './reason';
import { type SinusTuning, sinusTuning } from './tuning';

export interface NotSinusBeat {
  readonly at: SampleIndex;
  readonly reason: NotSinusReason;
  /** Beats of one kind: those of one shape, else those of one reason. */
  readonly kind: string;
  readonly sentence: string;
}

/** Stands in the log where a rater confirmed a proposal. */
export const proposerName = 'shape and timing of the reviewed beats, 2';

/**
 * Reviewed beats that do not look or come as the sinus beats of the same recording do, in time order. Sinus beats are
 * taken to be the most frequent kind, or a frequent one that is much narrower. Nothing is decided by this: in an
 * irregular rhythm such as atrial fibrillation it finds wide beats alone, and where every beat is wide it cannot know
 * whether they come from the sinus. Families of beats by shape: see Families; prematurity and pause, fusion and missing
 * P waves are common practice.
 */
export function notSinusBeats(leads: readonly LeadSignal[], marks: Marks): NotSinusBeat[] {
  return judged(beatMeasures(leads, marks), marks);
}

export function judged(measures: BeatMeasures, marks: Marks): NotSinusBeat[] {
  return notSinusReasons(measures).flatMap((reason, k) => {
    if (reason === null) return [];
    const at = marks[k]! as SampleIndex;
    const kind = reason === 'another shape' ? `shape ${measures.family[k]}` : reason;
    return [{ at, reason, kind, sentence: sentenceOf(reason, measures, k) }];
  });
}

/** Why each beat is proposed; null for those that are not. */
export function notSinusReasons(
  measures: BeatMeasures,
  tuning: SinusTuning = sinusTuning,
): readonly (NotSinusReason | null)[] {
  const shape = Array.from(measures.family, (_, k) => byShape(measures, k, tuning));
  return withReasonsByTime(measures, shape, tuning);
}

const percent = (share: number) => `${Math.round(100 * Math.abs(share))} %`;

function sentenceOf(reason: NotSinusReason, { time, familySize }: BeatMeasures, k: number): string {
  const off = time.before[k]! - 1;
  const when = Math.abs(off) < 0.05 ? 'on time' : `${percent(off)} ${off < 0 ? 'early' : 'late'}`;
  if (reason === 'another shape') {
    const like = familySize[k]! - 1;
    const others =
      like === 0 ? 'no other beat is like it' : `${like} ${like === 1 ? 'other is' : 'others are'} like it`;
    return `shape unlike the sinus beats, ${when}; ${others}`;
  }
  if (reason === 'mixed shape') return `shape somewhat unlike the sinus beats around it, ${when}`;
  if (reason === 'early') return time.after[k]! > sinusTuning.pause ? `${when}, then a pause` : when;
  return `${when}, ${reason === 'late, no P wave' ? 'and no P wave before it' : 'and no P wave, or another, before it'}`;
}
