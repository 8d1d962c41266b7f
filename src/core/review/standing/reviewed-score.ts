import type { RecordingReview } from '../../marks/edit';
import { intersect } from '../../marks/spans';
import type { Segment } from '../../recording/recording';
import type { SampledNumber } from '../../sample/number';
import { notComputable } from '../../score/result';
import { addUpScores, type RecordingScore, type SegmentScore, wholeOf } from '../../score/score';
import type { Span } from '../../units';
import type { SessionRecording } from '../session';
import { coverageOf, coveredPieces } from './coverage';
import { type Looker, lookedAt, notHere } from './looked-at';
import { type SampledReview, sampledReviews } from './sampled';

/**
 * How far a segment's numbers can be relied on. `final`: all of it was looked at, or it was signed off. `so far`: the
 * numbers are of the part that was looked at. `sampled`: quality is estimated from stretches drawn at random, until all of the
 * segment was looked at. Numbers that are not final are never pooled with final ones.
 */
export interface Standing {
  readonly status: 'not reviewed yet' | 'so far' | 'sampled' | 'final';
  /** Share looked at, in [0, 1]; null when the logs of those who looked are not here. */
  readonly lookedAtShare: number | null;
  /** Differences of two raters in it wait to be settled; they are left out. */
  readonly unsettled?: boolean;
  /** Of all segments together, where some are final and some are not: the numbers are of the final ones. */
  readonly final?: { readonly segments: number; readonly of: number };
  /** With status `sampled`: how many stretches, and how they were drawn. */
  readonly sampled?: SampledNumber;
}

/** Numbers of what was looked at; withheld where nothing was. */
export interface ReviewedSegment extends SegmentScore {
  readonly standing: Standing;
  /** The pieces its numbers are of: all of the segment once it is final. */
  readonly counted: readonly Span[];
}

/** A score whose segments count only what was looked at. Matching and outcomes are of the whole recording. */
export interface ReviewedScore extends RecordingScore {
  readonly segments: readonly ReviewedSegment[];
  readonly total: ReviewedSegment;
}

/** What a score's standing rests on. */
export interface Grounds {
  readonly lookers: readonly Looker[] | null;
  /** Signed off as a whole. */
  readonly finished: boolean;
  /** In a review that settles differences: what is not settled yet, where the detected marks stand meanwhile. */
  readonly open?: readonly Span[];
  /** Samples of each of those who looked, where they are worked out already. */
  readonly samples?: readonly (readonly SampledReview[])[];
}

export function reviewedScore(score: RecordingScore, item: SessionRecording, grounds: Grounds): ReviewedScore {
  const samples = samplesOf(score, item, grounds);
  const segments = score.segments.map(part => reviewedSegment(score, item, part, grounds, samples));
  return { ...score, segments, total: reviewedTotal(item, segments, grounds, samples) };
}

function reviewedSegment(
  score: RecordingScore,
  item: SessionRecording,
  part: SegmentScore,
  grounds: Grounds,
  samples: SamplesHere,
): ReviewedSegment {
  const { segment } = part;
  const { share } = lookedAt(item, grounds.lookers, segment);
  const number = isSampled(item, segment, grounds) ? samples.of(segment) : null;
  if (number) {
    const pieces = piecesLookedAt(item, segment, grounds);
    const open = intersect(grounds.open ?? [], [segment]).length > 0;
    return { ...score.within(segment, pieces), counted: pieces, ...sampledStanding(number, share, open) };
  }
  if (isFinal(item, segment, grounds))
    return { ...part, counted: [segment], standing: { status: 'final', lookedAtShare: share } };
  if (share === null)
    return { ...part, counted: [], withheld: notHere, standing: { status: 'so far', lookedAtShare: null } };
  const pieces = share === 0 ? [] : piecesLookedAt(item, segment, grounds);
  const own = { ...score.within(segment, pieces), counted: pieces };
  if (pieces.length === 0) {
    return { ...own, withheld: notReviewed, standing: { status: notReviewed, lookedAtShare: share } };
  }
  const unsettled = intersect(grounds.open ?? [], [segment]).length > 0;
  return { ...own, standing: { status: 'so far', lookedAtShare: share, ...(unsettled ? { unsettled } : {}) } };
}

const notReviewed = 'not reviewed yet';
const apart = 'segments were sampled one by one';
const notSettled = 'differences of the two raters are not settled';

/** Numbers from samples of one recording. */
interface SamplesHere {
  readonly of: (segment: Segment) => SampledNumber | null;
  /** From one sample of all segments together; null without one. */
  readonly whole: SampledNumber | null;
}

/** Of a settled review, from the stretches of the rater who reviewed fewer: both drew in the same order. */
function samplesOf(score: RecordingScore, item: SessionRecording, { lookers, samples }: Grounds): SamplesHere {
  const each = samples ?? (lookers ?? []).map(l => sampledReviews(item, l.recordings.get(item.recording.id)!, score));
  const fewest = (pick: (found: readonly SampledReview[]) => SampledNumber | undefined): SampledNumber | null => {
    const numbers = each.flatMap(found => pick(found) ?? []);
    return numbers.reduce<SampledNumber | null>((a, b) => (a && a.reviewed <= b.reviewed ? a : b), null);
  };
  const all = (found: readonly SampledReview[]) => found.find(s => s.laidOut.plan.segment === null)?.whole;
  return {
    of: segment => fewest(found => found.flatMap(s => s.segments).find(s => s.segment.name === segment.name)?.number),
    whole: fewest(all),
  };
}

function sampledStanding(number: SampledNumber, lookedAtShare: number | null, open: boolean) {
  const { quality, interval95 } = number;
  const estimate = open ? { quality: notComputable(notSettled), interval95: null } : { quality, interval95 };
  const standing: Standing = { status: 'sampled', lookedAtShare, sampled: number };
  return { estimate, standing };
}

/** Whether someone drew stretches of this segment and has not looked at all of it since. */
function isSampled(item: SessionRecording, segment: Segment, { lookers }: Pick<Grounds, 'lookers'>): boolean {
  return (lookers ?? []).some(({ recordings }) => {
    const review = recordings.get(item.recording.id)!;
    const drawn = review.sampled.some(e => e.drawn && e.start >= segment.start && e.start < segment.end);
    return isPlanned(review, segment) && drawn && !coverageOf(item, review, segment).covered;
  });
}

/** Whether stretches were to be drawn and nothing was looked at: signing off does not make a number of that. */
function isOnlyPlanned(item: SessionRecording, segment: Segment, { lookers }: Pick<Grounds, 'lookers'>): boolean {
  return (lookers ?? []).some(({ recordings }) => {
    const review = recordings.get(item.recording.id)!;
    return isPlanned(review, segment) && coverageOf(item, review, segment).share === 0;
  });
}

const isPlanned = ({ samplePlans }: RecordingReview, { name }: Segment) =>
  samplePlans.some(p => p.segment === null || p.segment === name);

/** Whether all of a segment was looked at, or it was signed off, by each whose looking the review rests on. */
export function isFinal(item: SessionRecording, segment: Segment, { lookers, finished, open = [] }: Grounds): boolean {
  if (isSampled(item, segment, { lookers }) || isOnlyPlanned(item, segment, { lookers })) return false;
  if (finished) return true;
  if (!lookers || intersect(open, [segment]).length > 0) return false;
  return lookers.every(({ recordings }) => {
    const review = recordings.get(item.recording.id)!;
    return review.signOffs.some(s => s.segment === segment.name) || coverageOf(item, review, segment).covered;
  });
}

/** What each of those who looked has covered, less what is not settled. */
function piecesLookedAt(item: SessionRecording, segment: Segment, { lookers, open = [] }: Grounds): Span[] {
  const each = lookers!.map(({ recordings }) => coveredPieces(item, recordings.get(item.recording.id)!, segment, open));
  return each.reduce((all, own) => intersect(all, own));
}

function reviewedTotal(
  item: SessionRecording,
  segments: readonly ReviewedSegment[],
  { lookers, open = [] }: Grounds,
  samples: SamplesHere,
): ReviewedSegment {
  if (segments.length === 1) return segments[0]!;
  const whole = wholeOf(segments.map(s => s.segment));
  const final = segments.filter(s => s.standing.status === 'final');
  const sampled = segments.filter(s => s.standing.status === 'sampled');
  const begun = segments.filter(s => s.withheld === undefined && !sampled.includes(s));
  const counted = final.length > 0 ? final : begun;
  const sum = { ...addUpScores(whole, counted), counted: counted.flatMap(s => s.counted) };
  const lookedAtShare = lookedAt(item, lookers, null).share;
  if (final.length === segments.length) return { ...sum, standing: { status: 'final', lookedAtShare } };
  if (samples.whole && sampled.length > 0) {
    const all = addUpScores(whole, segments);
    const unsettled = intersect(open, [whole]).length > 0;
    const counts = segments.flatMap(s => s.counted);
    return { ...all, counted: counts, ...sampledStanding(samples.whole, lookedAtShare, unsettled) };
  }
  if (counted.length === 0 && sampled.length > 0) {
    return { ...sum, withheld: apart, standing: { status: 'so far', lookedAtShare } };
  }
  if (counted.length === 0) {
    const unknown = segments.some(s => s.withheld === notHere);
    return unknown
      ? { ...sum, withheld: notHere, standing: { status: 'so far', lookedAtShare } }
      : { ...sum, withheld: notReviewed, standing: { status: notReviewed, lookedAtShare } };
  }
  const standing: Standing = { status: 'so far', lookedAtShare };
  if (final.length === 0) return { ...sum, standing };
  return { ...sum, standing: { ...standing, final: { segments: final.length, of: segments.length } } };
}
