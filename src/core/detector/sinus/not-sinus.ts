import type { Marks } from '../../marks/markset';
import type { SampleIndex } from '../../units';
import type { SignalFeatures } from '../suspicion/features';
import { type BeatMeasures, beatMeasures, someP } from './measures';
import { type SinusTuning, sinusTuning } from './tuning';

/** Why a beat is proposed as not sinus. */
export type NotSinusReason = 'another shape' | 'mixed shape' | 'early' | 'early, other P wave' | 'late, no P wave';

export interface NotSinusBeat {
  readonly at: SampleIndex;
  readonly reason: NotSinusReason;
  /** Beats of one kind: those of one shape, else those of one reason. */
  readonly kind: string;
  readonly sentence: string;
}

/** Stands in the log where a rater confirmed a proposal. */
export const proposerName = 'shape and timing of the reviewed beats, 1';

/**
 * Reviewed beats that do not look or come as the sinus beats of the same recording do, in time order. Sinus beats are
 * taken to be the most frequent kind, or a frequent one that is much narrower. Nothing is decided by this: in an
 * irregular rhythm such as atrial fibrillation it finds wide beats alone, and where every beat is wide it cannot know
 * whether they come from the sinus. Families of beats by shape: see Families; prematurity and pause, fusion and missing
 * P waves are common practice.
 */
export function notSinusBeats(features: SignalFeatures, marks: Marks): NotSinusBeat[] {
  return judged(beatMeasures(features, marks), marks);
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
  const runs = earlyRuns(measures, tuning.earlyNoP);
  // After a beat of another kind comes a pause or a retrograde P wave, which say nothing of the beat.
  return shape.map((own, k) => own ?? (k > 0 && shape[k - 1] !== null ? null : byTime(measures, k, tuning, runs[k]!)));
}

function byShape({ shape, p, time, familySize, conducted }: BeatMeasures, k: number, t: SinusTuning) {
  const unlike = shape.unlike[k]!;
  if (time.irregular[k]! > 0.1 && unlike < t.inIrregular) return null;
  const early = 1 - time.before[k]!;
  if (!shape.sinusLike[k]) {
    if (conducted[k]) return null;
    const hasP = p.clear[k]! > t.clear && p.size[k]! > someP && Math.abs(early) < 0.2;
    const known = familySize[k]! >= t.family && unlike > t.anotherKind && !hasP;
    const noisy = unlike < t.aloneTimesNoise * (shape.byNoise[k]! + 0.05);
    if (known || (early > t.aloneEarly && unlike > t.aloneUnlike && !noisy)) return 'another shape' as const;
    if (unlike < 0.5) return null;
  }
  const varied = unlike < t.mixedTimesVariety * (shape.byVariety[k]! + 0.02);
  return unlike > t.mixedUnlike && !varied && time.irregular[k]! < 0.1 ? ('mixed shape' as const) : null;
}

function byTime({ p, time }: BeatMeasures, k: number, t: SinusTuning, run: number): NotSinusReason | null {
  const early = 1 - time.before[k]!;
  const clear = p.clear[k]! > t.clear;
  if (run <= t.longestRun) {
    if (early > t.earlyNoP && clear && p.size[k]! < t.noP) return 'early, other P wave';
    if (early > t.early && time.irregular[k]! < t.steady && time.after[k]! > t.pause) return 'early';
  }
  return early < -t.lateNoP && clear && p.size[k]! < t.lateP ? 'late, no P wave' : null;
}

/** How many early beats follow each other where each is; 0 for the others. */
function earlyRuns({ time }: BeatMeasures, least: number): Int32Array {
  const runs = new Int32Array(time.before.length);
  for (let from = 0; from < runs.length; ) {
    let to = from;
    while (to < runs.length && 1 - time.before[to]! > least) to++;
    runs.fill(to - from, from, to);
    from = Math.max(to, from + 1);
  }
  return runs;
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
  if (reason === 'early') return `${when}, then a pause`;
  return `${when}, ${reason === 'late, no P wave' ? 'and no P wave before it' : 'and no P wave, or another, before it'}`;
}
