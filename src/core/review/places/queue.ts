import { unlistedChance } from '../../detector/suspicion/model';
import type { Candidate, Suspicion } from '../../detector/suspicion/suspicion';
import type { RecordingReview } from '../../marks/edit';
import { has, lowerBound, type Marks } from '../../marks/markset';
import { covers, intersect } from '../../marks/spans';
import type { SampleIndex, Span } from '../../units';
import { type ExpectedMistakes, expectedOf, type MistakeSums, type OpenPlace, sumsOver } from './expected-mistakes';
import { faint, groupOf, usualSpread } from './groups';
import { conditional, overEffect } from './random-intercept';
import { effectOn, type RecordingEffects } from './recording-effects';

/** One line of the review queue. */
export interface QueueItem {
  /** Stable while the place stays: names the mark or the missing beat. */
  readonly id: string;
  readonly at: SampleIndex;
  /** Null when it is about a beat without a mark. */
  readonly mark: SampleIndex | null;
  /** The strongest reason and what it says; use it for a Dismissal. */
  readonly reason: string;
  readonly sentence: string;
  /** All reasons in words, strongest first. */
  readonly sentences: readonly string[];
  /** The chance of a mistake there, 0 to 1, by this recording's decisions so far. */
  readonly score: number;
  /** Places whose chances lie too high or too low together, and how far: standard deviation of their log-odds. */
  readonly group: string;
  readonly spread: number;
  /** True when nothing but RR intervals speaks against it. */
  readonly intervalOnly: boolean;
  readonly candidates: readonly Candidate[];
  /** The mark, or each beat that may be missing. */
  readonly leads: readonly SampleIndex[];
}

/** Mistakes to be found there: beats missing in a row are as many. */
export function expectedGain({ score, mark, reason, leads }: QueueItem): number {
  return score * (mark === null && reason !== 'unreadable' ? leads.length : 1);
}

/**
 * The open places of a part without stretches that may be unreadable: worked out once for a ranking, as an edit changes
 * at first only the marks that are left.
 */
export interface OpenPlaces {
  readonly sums: MistakeSums;
  /** Their marks in order of time; places of missing beats have none. */
  readonly marks: Marks;
  /** Of the places that are hardly suspected. */
  readonly faintSpread: number;
}

export function openPlaces(items: readonly QueueItem[]): OpenPlaces {
  const own = items.filter(i => i.reason !== 'unreadable');
  const marks = new Int32Array(own.length);
  let n = 0;
  for (const { mark } of own) if (mark !== null) marks[n++] = mark;
  return {
    sums: sumsOver(own.map(openPlace)),
    marks: marks.subarray(0, n).sort(),
    faintSpread: own.find(i => i.group === faint)?.spread ?? usualSpread(faint),
  };
}

function openPlace({ score, mark, leads, group, spread }: QueueItem): OpenPlace {
  return { chance: score, count: mark === null ? leads.length : 1, group, spread };
}

/**
 * How many mistakes the open places of a part stand for.
 * @param marksLeft the marks of the part, or of each of its parts, that were not looked at: those without a place may be
 *   mistakes, too
 */
export function mistakesLeft({ sums, marks, faintSpread }: OpenPlaces, marksLeft: readonly Marks[]): ExpectedMistakes {
  const count = marksLeft.reduce((n, left) => n + left.length, 0) - listedAmong(marks, marksLeft);
  const unlisted = { chance: unlistedChance, count, group: faint, spread: faintSpread };
  return expectedOf(count > 0 ? sumsOver([unlisted], sums) : sums);
}

const fewTimes = 16;

/** How many of the places' marks are among those left; of parts that overlap each once. */
function listedAmong(marks: Marks, marksLeft: readonly Marks[]): number {
  const isLeft = new Uint8Array(marks.length);
  for (const left of marksLeft) {
    // A few are looked up; of many, both lists are gone along together.
    if (fewTimes * marks.length < left.length) {
      for (let i = 0; i < marks.length; i++) if (has(left, marks[i]!)) isLeft[i] = 1;
      continue;
    }
    for (let i = 0, j = 0; i < marks.length && j < left.length; ) {
      if (marks[i]! < left[j]!) i++;
      else if (marks[i]! > left[j]!) j++;
      else isLeft[i++] = 1;
    }
  }
  return isLeft.reduce((n, is) => n + is, 0);
}

/** A dismissal holds for this place: a missing beat's estimated position may wander a little as marks change. */
const samePlaceMs = 150;

/**
 * The queue of one recording, the place with most to find first (ties: earlier first). Left out: what the rater dismissed, what
 * lies in a stretch they accepted or called unreadable. `effects`: what their decisions so far say about each group of places.
 */
export function reviewQueue(
  found: readonly Suspicion[],
  review: RecordingReview,
  samplingRateHz: number,
  effects?: RecordingEffects,
): QueueItem[] {
  const dismissedMarks = new Set(review.dismissals.map(d => d.at));
  const places = Float64Array.from(review.dismissals, d => d.at).sort();
  const near = (samePlaceMs * samplingRateHz) / 1000;
  const out: QueueItem[] = [];
  for (const s of found) {
    if (s.mark !== null ? dismissedMarks.has(s.mark) : anyWithin(places, s.at, near)) continue;
    if (covers(review.accepted, s.at) || covers(review.unreadable, s.at) || isMarked(s, review)) continue;
    out.push(toItem(s, effects));
  }
  const strongestFirst = out.sort((a, b) => b.score - a.score || a.at - b.at);
  return oncePerEvent(strongestFirst, review).sort((a, b) => expectedGain(b) - expectedGain(a) || a.at - b.at);
}

const intervalReasons: ReadonlySet<string> = new Set([
  'long interval',
  'multiple interval',
  'pause after an early beat',
  'short interval',
  'short-long pair',
]);

/**
 * One mistake often shows at several places. Left out, until the stronger item is settled: what lies in a stretch that is
 * proposed as unreadable, an item that offers the same
 * beat as a stronger one, a mark that is suspected for its interval alone next to a stronger item, and a gap that is for
 * its length alone beside a mark that may have to go.
 */
function oncePerEvent(items: readonly QueueItem[], review: RecordingReview): QueueItem[] {
  const hidden = items.flatMap(i => i.candidates.flatMap(c => (c.kind === 'unreadable' ? [spanOf(c)] : [])));
  hidden.sort((a, b) => a.start - b.start);
  const offered = new Set<number>();
  const beside = new Set<number>();
  const toSettle = new Set<number>();
  return items.filter(item => {
    if (item.reason !== 'unreadable' && covers(hidden, item.at)) return false;
    const places = [
      ...(item.mark === null ? item.leads : []),
      ...item.candidates.flatMap(c => (c.kind === 'move' ? [c.to] : [])),
    ];
    if (item.mark === null ? places.every(p => offered.has(p)) : places.some(p => offered.has(p))) return false;
    if (item.mark !== null && item.intervalOnly && beside.has(item.mark)) return false;
    const i = lowerBound(review.marks, item.at);
    // A mark on the wrong wave makes the interval before or after it long: moving it fills the gap.
    if (item.mark === null && item.intervalOnly && [i - 1, i].some(k => toSettle.has(review.marks[k] ?? -1)))
      return false;
    for (const p of places) offered.add(p);
    if (item.mark !== null && item.candidates.length > 0) toSettle.add(item.mark);
    for (const k of item.mark === null ? [i - 1, i] : [i - 1, i + 1]) beside.add(review.marks[k] ?? -1);
    return true;
  });
}

/** Whether a stretch proposed as unreadable has been marked, wholly or in part. */
function isMarked({ candidates }: Suspicion, { unreadable }: RecordingReview): boolean {
  const [first] = candidates;
  return first?.kind === 'unreadable' && intersect(unreadable, [spanOf(first)]).length > 0;
}

function spanOf({ at, end }: Extract<Candidate, { kind: 'unreadable' }>): Span {
  return { start: at, end };
}

export function itemId(s: Suspicion): string {
  const about = s.candidates[0]?.kind === 'unreadable' ? 'unreadable' : s.mark === null ? 'missing' : 'mark';
  return `${about}@${s.at}`;
}

function toItem(s: Suspicion, effects?: RecordingEffects): QueueItem {
  const first = s.findings[0]!;
  const group = groupOf(
    s.score,
    s.findings.map(f => f.reason),
  );
  const effect = effectOn(effects, group);
  return {
    id: itemId(s),
    at: s.at,
    mark: s.mark,
    reason: first.reason,
    sentence: first.sentence,
    sentences: s.findings.map(f => f.sentence),
    score: effects?.has(group) ? overEffect(conditional(s.score, usualSpread(group)), effect) : s.score,
    group,
    spread: effect.spread,
    intervalOnly: s.findings.every(f => intervalReasons.has(f.reason)),
    candidates: s.candidates,
    leads: s.leads,
  };
}

function anyWithin(sorted: Float64Array, at: number, reach: number): boolean {
  let lo = 0;
  let hi = sorted.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (sorted[mid]! < at - reach) lo = mid + 1;
    else hi = mid;
  }
  return lo < sorted.length && sorted[lo]! <= at + reach;
}
