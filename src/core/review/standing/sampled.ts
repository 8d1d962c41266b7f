import type { Operation, RecordingReview } from '../../marks/edit';
import type { SampledEntry, SamplePlan } from '../../marks/sampling';
import { firstEndingAfter } from '../../marks/spans';
import type { Segment } from '../../recording/recording';
import { type CountStretch, stretchCounter } from '../../sample/count';
import { planWithin, RunningSample, type SampledNumber, type SampledPoint, stepsWithin } from '../../sample/number';
import { type LaidOutPlan, layOut } from '../../sample/plan';
import type { Step } from '../../sample/population';
import { nextDrawn, pageStretches, type Reviewed, stepsOf } from '../../sample/steps';
import type { RecordingScore } from '../../score/score';
import type { Span } from '../../units';
import { acceptSpan, type Built, type Editing, isRefusal, look, refuseChange } from '../edits';
import type { SessionRecording } from '../session';
import { coveredAmong, segmentsUnderReview } from './coverage';

/** What a sampled review of one recording says. */
export interface SampledReview {
  readonly laidOut: LaidOutPlan;
  /** What was reviewed, in order; null when no interval can be judged anywhere. */
  readonly steps: readonly Step[] | null;
  /** Of all that the plan covers. */
  readonly whole: SampledNumber;
  /** Of each segment the plan covers, from its own stretches: one, when one is sampled. */
  readonly segments: readonly { readonly segment: Segment; readonly number: SampledNumber }[];
  /** How the number of the whole came about, where this was asked for. */
  readonly track: readonly SampledPoint[];
}

/** The segments a plan covers. */
export function segmentsOfPlan(item: SessionRecording, plan: SamplePlan): readonly Segment[] {
  const all = segmentsUnderReview(item);
  return plan.segment === null ? all : all.filter(s => s.name === plan.segment);
}

const laidOutPlans = new WeakMap<
  SamplePlan,
  { readonly item: SessionRecording; readonly laidOut: LaidOutPlan | null }
>();

/** A plan on its recording, laid out once; null when it was made for other stretches than the recording has. */
export function layOutPlan(item: SessionRecording, plan: SamplePlan): LaidOutPlan | null {
  const before = laidOutPlans.get(plan);
  if (before?.item === item) return before.laidOut;
  const laidOut = laidOutOrNull(item, plan);
  laidOutPlans.set(plan, { item, laidOut });
  return laidOut;
}

function laidOutOrNull(item: SessionRecording, plan: SamplePlan): LaidOutPlan | null {
  try {
    return layOut(plan, segmentsOfPlan(item, plan), item.recording.samplingRateHz);
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

/**
 * The numbers of each plan in a review, whose score is given. A plan for other stretches than this recording has, as a log
 * by other hands may hold, gives none.
 */
export function sampledReviews(
  item: SessionRecording,
  review: RecordingReview,
  score: RecordingScore,
): SampledReview[] {
  return review.samplePlans.flatMap(plan => {
    const laidOut = layOutPlan(item, plan);
    return laidOut ? [new FollowedSample(item, laidOut, false).after(review, score)] : [];
  });
}

/** The numbers of one plan as its review goes on: a stretch more costs no replay of those before it. */
export class FollowedSample {
  private readonly item: SessionRecording;
  private readonly laidOut: LaidOutPlan;
  private readonly whole: RunningSample;
  private readonly parts: readonly { segment: Segment; part: LaidOutPlan; running: RunningSample }[];

  private counted: { readonly score: RecordingScore; readonly count: CountStretch } | null = null;

  /** `tracked` when the way of the interval is asked for. */
  constructor(item: SessionRecording, laidOut: LaidOutPlan, tracked: boolean) {
    this.item = item;
    this.laidOut = laidOut;
    this.whole = new RunningSample(laidOut, laidOut.plan.segment, tracked);
    const several = laidOut.segments.length > 1 ? laidOut.segments : [];
    this.parts = several.map(segment => {
      const part = planWithin(laidOut, segment);
      return { segment, part, running: new RunningSample(part, segment.name) };
    });
  }

  after(review: RecordingReview, score: RecordingScore): SampledReview {
    const { item, laidOut } = this;
    if (this.counted?.score !== score)
      this.counted = { score, count: countedOnce(stretchCounter(score, laidOut.segments)) };
    const steps = stepsOf(laidOut, reviewedStretches(item, review, laidOut), this.counted.count);
    const whole = this.whole.after(steps);
    const segments = this.parts.map(({ segment, part, running }) => {
      const number = running.after(steps && stepsWithin(laidOut, part, steps));
      return { segment, number };
    });
    const [only] = laidOut.segments;
    const all = segments.length > 0 ? segments : [{ segment: only!, number: whole }];
    return { laidOut, steps, whole, segments: all, track: this.whole.track };
  }
}

/** Counts of stretches remembered for one score. */
function countedOnce(count: CountStretch): CountStretch {
  const known = new Map<number, ReturnType<CountStretch>>();
  return stretch => {
    let found = known.get(stretch.start);
    if (found === undefined) {
      found = count(stretch);
      known.set(stretch.start, found);
    }
    return found;
  };
}

const reviewedBefore = new WeakMap<RecordingReview, { readonly laidOut: LaidOutPlan; readonly reviewed: Reviewed }>();

/** What is known of the stretches of a plan; worked out once for each state of a review. */
function reviewedStretches(item: SessionRecording, review: RecordingReview, laidOut: LaidOutPlan): Reviewed {
  const before = reviewedBefore.get(review);
  if (before?.laidOut === laidOut) return before.reviewed;
  const silent = new Set(withoutSignal(item, laidOut));
  // Seen, and the marks looked at, whatever for.
  // Those in the log as reviewed are known anyway.
  const entered = new Set(review.sampled.filter(e => e.outcome === 'reviewed').map(e => e.start));
  const lookedAt = coveredAmong(item, review, laidOut.stretches, entered).filter(i => !silent.has(i));
  const reviewed = { entries: review.sampled, withoutSignal: [...silent], lookedAt };
  reviewedBefore.set(review, { laidOut, reviewed });
  return reviewed;
}

function withoutSignal({ recording: { gaps } }: SessionRecording, { stretches }: LaidOutPlan): number[] {
  if (gaps.length === 0) return [];
  return stretches.flatMap((s, i) => {
    const gap = gaps[firstEndingAfter(gaps, s.start)];
    return gap && gap.start <= s.start && gap.end >= s.end ? [i] : [];
  });
}

/** Stretches of a plan that need no drawing any more, and the next ones of the order. */
export interface Draws {
  readonly done: ReadonlySet<number>;
  readonly next: readonly number[];
}

/** The sample shows the first ones of `next`; skipped ones come again when nothing else is left. */
export function drawsOf(item: SessionRecording, review: RecordingReview, laidOut: LaidOutPlan, most: number): Draws {
  const reviewed = reviewedStretches(item, review, laidOut);
  const done = doneOf(reviewed, laidOut);
  const next = nextDrawn(laidOut, done, most);
  return { done, next: next.length > 0 ? next : skippedAmong(reviewed, laidOut).slice(0, most) };
}

const doneBefore = new WeakMap<Reviewed, ReadonlySet<number>>();

/** Worked out once for each state of a review: the key that takes a page asks for what showing it had asked for. */
function doneOf(reviewed: Reviewed, laidOut: LaidOutPlan): ReadonlySet<number> {
  const before = doneBefore.get(reviewed);
  if (before) return before;
  const done = new Set(reviewed.withoutSignal);
  for (const { start } of reviewed.entries) {
    const i = laidOut.places.get(start);
    if (i !== undefined) done.add(i);
  }
  const shown = nextDrawn(laidOut, done, pageStretches);
  for (const i of reviewed.lookedAt) if (!shown.includes(i)) done.add(i);
  doneBefore.set(reviewed, done);
  return done;
}

function skippedAmong({ entries }: Reviewed, laidOut: LaidOutPlan): number[] {
  return entries.flatMap(e => (e.outcome === 'skipped' ? (laidOut.places.get(e.start) ?? []) : []));
}

/**
 * Drawn stretches, by index, reviewed or skipped together: their time counts as seen and their marks as accepted, and
 * stretches that were looked at otherwise since the last draw enter before them, as known ones.
 */
export function takeStretches(
  editing: Editing,
  laidOut: LaidOutPlan,
  indices: readonly number[],
  outcome: SampledEntry['outcome'],
): Built {
  const { review } = editing;
  const stretches = indices.map(i => laidOut.stretches[i]!);
  const accepted = outcome === 'reviewed' ? acceptSpan(editing, ...stretches) : refuseChange(editing, []);
  if (isRefusal(accepted)) return accepted;
  const seen = outcome === 'reviewed' ? look(editing, ...stretches) : null;
  const known = knownSince(editing, laidOut, indices);
  const first = 1 + Math.max(-1, ...review.sampled.map(e => e.place));
  const added = known.map((i, n) => entryOperation(laidOut.stretches[i]!, null, 'reviewed', false, first + n));
  const own = stretches.map((stretch, n) => {
    const before = review.sampled.find(e => e.start === stretch.start && e.end === stretch.end) ?? null;
    const place = before?.place ?? first + known.length + n;
    return entryOperation(stretch, before, outcome, before?.drawn ?? true, place);
  });
  return [...(accepted ?? []), ...(seen ?? []), ...added, ...own];
}

/** Looked at otherwise, not in the log as such, and not among those taken now. */
function knownSince({ item, review }: Editing, laidOut: LaidOutPlan, taken: readonly number[]): number[] {
  const entered = new Set(review.sampled.map(e => e.start));
  const { done } = drawsOf(item, review, laidOut, 0);
  return reviewedStretches(item, review, laidOut).lookedAt.filter(
    i => !taken.includes(i) && done.has(i) && !entered.has(laidOut.stretches[i]!.start),
  );
}

function entryOperation(
  { start, end }: Span,
  before: SampledEntry | null,
  outcome: SampledEntry['outcome'],
  drawn: boolean,
  place: number,
): Operation {
  return { op: 'sampled', before, after: { start, end, outcome, drawn, place } };
}

/** The plan of a sampled review, to be written before the first stretch is shown. Never a second one of the same. */
export function planReview(editing: Editing, plan: SamplePlan): Built {
  const { item, review } = editing;
  const refusal = refuseChange(editing, []);
  if (refusal) return refusal;
  const own = new Set(segmentsOfPlan(item, plan).map(s => s.name));
  const twice = review.samplePlans.some(p => segmentsOfPlan(item, p).some(s => own.has(s.name)));
  if (twice) return { refused: 'A sample of this was planned before: it goes on with the same order.' };
  return [{ op: 'samplePlan', before: null, after: plan }];
}

/** How far a sample has come, without anything of what was found in it. */
export interface SampleProgress {
  readonly reviewed: number;
  readonly stretches: number;
}

/** Of all samples of a review together; null without any. */
export function sampleProgress({ samplePlans, sampled }: RecordingReview): SampleProgress | null {
  if (samplePlans.length === 0) return null;
  const stretches = samplePlans.reduce((sum, plan) => sum + plan.classes.length, 0);
  return { reviewed: sampled.filter(e => e.outcome === 'reviewed').length, stretches };
}
