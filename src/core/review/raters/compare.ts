import { spanJaccard } from '../../agreement/jaccard';
import { cohenKappa, type Kappa } from '../../agreement/kappa';
import type { RecordingReview } from '../../marks/edit';
import type { LogHeader } from '../../marks/log';
import { lowerBound } from '../../marks/markset';
import type { MatchSettings } from '../../marks/match';
import { covers, intersect, subtract, totalLength, union } from '../../marks/spans';
import { Verdict, verdictsOf } from '../../marks/verdicts';
import type { Segment } from '../../recording/recording';
import { qualityOf } from '../../score/measures';
import type { Computed } from '../../score/result';
import { addUpScores, type RecordingScore, type SegmentScore } from '../../score/score';
import type { Span } from '../../units';
import type { SessionRecording } from '../session';
import { type ReviewedScore, type ReviewedSegment, reviewedScore } from '../standing/reviewed-score';
import { scoreReview } from '../standing/score-review';
import { standingWords } from '../standing/standing-words';
import { type Disagreement, type DisagreementInput, disagreements } from './disagreements';

/** Two reviews of one recording: two raters, or one rater at two times. */
export interface RaterPair {
  readonly item: SessionRecording;
  readonly a: RecordingReview;
  readonly b: RecordingReview;
  readonly settings: MatchSettings;
}

/** Order of rows and columns of the verdict table. A mark merely centred counts as kept. */
export const verdictCategories = ['kept', 'moved', 'removed', 'unreadable'] as const;

/** Agreement in one segment or, for the total, the sum over all segments. */
export interface SegmentComparison {
  readonly segment: Segment;
  /** Beats of A and of B in what both could read. */
  readonly beatsA: number;
  readonly beatsB: number;
  /** Beats that both have, within the on-peak tolerance. */
  readonly agreed: number;
  /** Beats that both have, beyond the tolerance but within the wrong-peak window. In no other count. */
  readonly placedApart: number;
  readonly onlyA: number;
  readonly onlyB: number;
  /** 2 x agreed / (beats of A + beats of B), a fraction. */
  readonly f1: Computed;
  /** RR-interval quality in percent, of the same detected marks by each rater. */
  readonly qualityA: Computed;
  readonly qualityB: Computed;
  /**
   * Quality by A minus quality by B, in percentage points; n is the smaller of the two counts of intervals. Of a sample,
   * over what both have looked at.
   */
  readonly qualityDifference: Computed;
  /** Detected marks outside gaps: row = verdict by A, column = verdict by B, in the order of `verdictCategories`. */
  readonly verdictTable: readonly (readonly number[])[];
  readonly kappa: Kappa;
  /** Overlap of the unreadable spans, gaps left out; n in samples. */
  readonly spanJaccard: Computed;
  /** Seconds that both have looked at, where a sample was reviewed and the comparison is over these; null: all of it. */
  readonly overSeconds: number | null;
}

export interface Comparison {
  readonly pair: RaterPair;
  readonly scoreA: ReviewedScore;
  readonly scoreB: ReviewedScore;
  /** Matching of A's beats (as beats) with B's (as marks), where neither called the signal unreadable. */
  readonly raters: RecordingScore;
  readonly segments: readonly SegmentComparison[];
  readonly total: SegmentComparison;
  /** By place, over the whole recording. */
  readonly disagreements: readonly Disagreement[];
}

/** Compares two reviews of one recording (definitions: "Two raters" in the notes on how it counts). */
export function compareRaters(pair: RaterPair): Comparison {
  const { item, a, b, settings } = pair;
  // Rater against rater is scored as detector against rater is: B's marks stand where the detected ones do.
  const both = { marks: a.marks, unreadable: union(a.unreadable, b.unreadable) };
  const raters = scoreReview({ ...item, detected: b.marks }, both, settings);
  const scoreA = byRater(pair, a);
  const scoreB = byRater(pair, b);
  const verdictsA = verdictsOf(scoreA.matching, item.detected, a.marks).ofDetected;
  const verdictsB = verdictsOf(scoreB.matching, item.detected, b.marks).ofDetected;
  const spans = [a, b].map(r => subtract(r.unreadable, item.recording.gaps)) as [Span[], Span[]];
  const parts = raters.segments.map((s, i) => partOf(raters, s, scoreA.segments[i]!, scoreB.segments[i]!));
  const segments = parts.map(({ score, within, over }, i) => {
    const table = verdictTable(item, verdictsA, verdictsB, within);
    const cut = spans.map(list => intersect(list, within)) as [Span[], Span[]];
    const [byA, byB] = [scoreA.segments[i]!, scoreB.segments[i]!];
    if (over === null) return compareSegment(score, byA, byB, table, cut);
    const same = [scoreA, scoreB].map(s => qualityOf(s.within(score.segment, within)).quality) as [Computed, Computed];
    return {
      ...compareSegment(score, byA, byB, table, cut),
      qualityDifference: difference(...same),
      overSeconds: over,
    };
  });
  const summed = verdictCategories.map((_, i) =>
    verdictCategories.map((_, j) => segments.reduce((n, s) => n + s.verdictTable[i]![j]!, 0)),
  );
  const everywhere = union(
    [],
    parts.flatMap(p => p.within),
  );
  const inSegments = spans.map(list => intersect(list, everywhere)) as [Span[], Span[]];
  const sampled = parts.some(p => p.over !== null);
  const sum = sampled
    ? addUpScores(
        raters.total.segment,
        parts.map(p => p.score),
      )
    : raters.total;
  const total = {
    ...compareSegment(sum, scoreA.total, scoreB.total, summed, inSegments),
    overSeconds: sampled
      ? totalLength(subtract(everywhere, item.recording.gaps)) / item.recording.samplingRateHz
      : null,
  };
  return {
    pair,
    scoreA,
    scoreB,
    raters,
    segments,
    total,
    disagreements: disagreements(disagreementInput(pair, raters)),
  };
}

/** What two raters are compared over. */
interface ComparedPart {
  readonly score: SegmentScore;
  readonly within: readonly Span[];
  /** Seconds of it where it is a part of the segment; null: all of it. */
  readonly over: number | null;
}

/** A sampled segment is compared where both have looked: elsewhere both have the detected marks, and would agree on them. */
function partOf(raters: RecordingScore, own: SegmentScore, a: ReviewedSegment, b: ReviewedSegment): ComparedPart {
  const sampled = [a, b].some(s => s.standing.status === 'sampled');
  if (!sampled) return { score: own, within: [own.segment], over: null };
  const within = intersect(a.counted, b.counted);
  // Where there is no signal nobody looks.
  const over = totalLength(subtract(within, raters.input.gaps)) / raters.input.samplingRateHz;
  return { score: raters.within(own.segment, within), within, over };
}

/** The detected marks by one rater, as far as that rater has looked. */
function byRater({ item, settings }: RaterPair, review: RecordingReview): ReviewedScore {
  const recordings = new Map([[item.recording.id, review] as const]);
  const lookers = [{ rater: '', recordings }];
  return reviewedScore(scoreReview(item, review, settings), item, { lookers, finished: false });
}

/** What the list of disagreements is made from. */
export function disagreementInput({ item, a, b, settings }: RaterPair, raters: RecordingScore): DisagreementInput {
  const { gaps, samplingRateHz, sampleCount } = item.recording;
  return {
    matching: raters.matching,
    spansA: subtract(a.unreadable, gaps),
    spansB: subtract(b.unreadable, gaps),
    marksA: a.marks,
    marksB: b.marks,
    detected: item.detected,
    gaps,
    segments: raters.input.segments,
    samplingRateHz,
    sampleCount,
    reachMs: settings.wrongPeakWindowMs,
  };
}

/**
 * A rater's second rating of a session is signed with the code and a number: `R1`, then `R1.2`; or with the code in other
 * letters, by mistake.
 */
export function isSameRater(a: Pick<LogHeader, 'rater'>, b: Pick<LogHeader, 'rater'>): boolean {
  return isSamePerson(a.rater, b.rater);
}

/** Whether two codes can only be of one person: R1, r1 and R1.2. Somebody types the same code in small letters one day. */
export function isSamePerson(a: string, b: string): boolean {
  return raterOf(a).toLowerCase() === raterOf(b).toLowerCase();
}

/** Says that two of the codes differ in capital and small letters only, so that they can only be one person's; null without any. */
export function alikeCodes(codes: readonly string[]): string | null {
  const known = new Map<string, string>();
  for (const code of codes) {
    const other = known.get(code.toLowerCase()) ?? code;
    if (other !== code) return `${other} and ${code} differ in capital letters only and count as one rater`;
    known.set(code.toLowerCase(), code);
  }
  return null;
}

/** Gives codes that differ in capital and small letters only one spelling: that of the one that sorts first. */
export function oneSpelling(codes: readonly string[]): (code: string) => string {
  const spelled = new Map<string, string>();
  for (const code of [...codes].sort()) {
    const key = code.toLowerCase();
    if (!spelled.has(key)) spelled.set(key, code);
  }
  return code => spelled.get(code.toLowerCase()) ?? code;
}

/** The code without the number of the rating. */
export function raterOf(code: string): string {
  return /^(.+)\.\d+$/.exec(code)?.[1] ?? code;
}

function compareSegment(
  raters: SegmentScore,
  byA: ReviewedSegment,
  byB: ReviewedSegment,
  table: readonly (readonly number[])[],
  [spansA, spansB]: readonly [Span[], Span[]],
): SegmentComparison {
  const c = raters.counts;
  const qualityA = qualityOf(byA).quality;
  const qualityB = qualityOf(byB).quality;
  return {
    segment: raters.segment,
    beatsA: c.beats,
    beatsB: c.marks,
    agreed: c.onPeak,
    placedApart: c.wrongPeak,
    onlyA: c.missed,
    onlyB: c.extra,
    f1: f1(c.onPeak, c.beats + c.marks),
    qualityA,
    qualityB,
    qualityDifference: difference(finalOnly(byA, qualityA), finalOnly(byB, qualityB)),
    verdictTable: table,
    kappa: cohenKappa(table),
    spanJaccard: spanJaccard(spansA, spansB),
    overSeconds: null,
  };
}

function f1(agreed: number, beats: number): Computed {
  if (beats === 0) return { value: null, reason: 'neither rater has a beat in what both could read' };
  return { value: (2 * agreed) / beats, n: beats };
}

/** Numbers of different parts of a segment have no difference. */
function finalOnly({ standing }: ReviewedSegment, quality: Computed): Computed {
  const isFinal = standing.status === 'final' || quality.value === null;
  return isFinal ? quality : { value: null, reason: standingWords(standing) };
}

function difference(a: Computed, b: Computed): Computed {
  if (a.value === null) return { value: null, reason: `by A: ${a.reason}` };
  if (b.value === null) return { value: null, reason: `by B: ${b.reason}` };
  return { value: a.value - b.value, n: Math.min(a.n, b.n) };
}

const categoryOf: Readonly<Record<number, number>> = {
  [Verdict.kept]: 0,
  [Verdict.refined]: 0,
  [Verdict.moved]: 1,
  [Verdict.removed]: 2,
  [Verdict.unreadable]: 3,
};

function verdictTable(item: SessionRecording, byA: Uint8Array, byB: Uint8Array, within: readonly Span[]): number[][] {
  const table = verdictCategories.map(() => verdictCategories.map(() => 0));
  for (const { start, end } of within) {
    const last = lowerBound(item.detected, end);
    for (let j = lowerBound(item.detected, start); j < last; j++) {
      if (covers(item.recording.gaps, item.detected[j]!)) continue;
      table[categoryOf[byA[j]!]!]![categoryOf[byB[j]!]!]!++;
    }
  }
  return table;
}
