import { covers } from '../../marks/spans';
import { correlationAt } from './beats';
import type { Context } from './context';
import { chanceOf, toMilliseconds, unmarkedIn } from './context';
import { seenPieces } from './intervals';
import type { Finding } from './reasons';
import { longInterval, secondFindsMore } from './reasons';

/** A stretch between two marks (or before the first, after the last) in which beats may be missing. */
export interface MissingBeats {
  /** Where they are thought to be, in order. */
  readonly places: readonly number[];
  readonly findings: Finding[];
}

/** Never offer more places than this at once: whoever inserts the first ones gets the next. */
const mostPlaces = 50;
/** Nearer to a mark than this the second detector means the same beat. */
const sameBeatMs = 150;

/** What the stretch before mark i (i = marks.length: after the last) is missing. One answer per piece with signal. */
export function missingBefore(context: Context, i: number): readonly MissingBeats[] {
  const { marks, features } = context;
  const end = i < marks.length ? marks[i]! : features.working.length * features.factor;
  const start = i > 0 ? marks[i - 1]! : 0;
  if (nothingMissing(context, i, start, end)) return none;
  const out: MissingBeats[] = [];
  for (const [from, to] of seenPieces(start, end, context.blind)) {
    const piece = { from, to, markBefore: from === start && i > 0, markAfter: to === end && i < marks.length };
    const found = missingIn(context, i, piece);
    if (found) out.push(found);
  }
  return out;
}

const none: readonly MissingBeats[] = [];

/** The quick answer for nearly every stretch: an interval as usual, without a second opinion against it. */
function nothingMissing(context: Context, i: number, start: number, end: number): boolean {
  const usual = context.intervals.usual[i] ?? 0;
  return i > 0 && i < context.marks.length && end - start < 1.2 * usual && unmarkedIn(context, start, end).length === 0;
}

/** A stretch with signal and whether a mark stands at either end; an open end may lie anywhere within an interval. */
interface Piece {
  readonly from: number;
  readonly to: number;
  readonly markBefore: boolean;
  readonly markAfter: boolean;
}

function missingIn(context: Context, i: number, piece: Piece): MissingBeats | null {
  const { from, to, markBefore, markAfter } = piece;
  const k = Math.min(i, context.marks.length - 1);
  const usual = (context.intervals.usual[k] ?? 0) || context.features.samplingRateHz;
  const open = (markBefore ? 0 : 0.5) + (markAfter ? 0 : 0.5);
  const ratio = (to - from) / usual + open;
  const findings: Finding[] = [];
  const tooShort = open > 0 && (to - from) / usual < 1.1;
  const long = tooShort ? null : longInterval(ratio, context.intervals.spread[k] ?? 0, ratioBefore(context, i, usual));
  if (long) findings.push(long);
  const seen = unmarkedInside(context, piece);
  if (seen.length > 0) {
    const first = seen[0]!;
    const room = Math.min(markBefore ? first - from : usual, markAfter ? to - first : usual) / usual;
    const correlation = correlationAt(context.features, context.beats, i, first);
    const inNoise = covers(context.secondUnsure, first);
    findings.push(secondFindsMore(correlation, room, inNoise, chanceOf(context, first), seen.length));
  }
  if (findings.length === 0) return null;
  const places =
    seen.length > 0 ? seen : onBeats(context, i, guessed(piece, Math.max(1, Math.round(ratio) - 1), usual));
  return { places: places.slice(0, mostPlaces), findings };
}

/** The interval that ends where the stretch before mark i begins, as a share of the usual one; 0 without one. */
function ratioBefore({ intervals }: Context, i: number, usual: number): number {
  return i > 1 ? (intervals.rr[i - 1] ?? 0) / usual : 0;
}

function unmarkedInside(context: Context, { from, to, markBefore, markAfter }: Piece): number[] {
  const out: number[] = [];
  for (const s of unmarkedIn(context, from, to)) {
    if (markBefore && toMilliseconds(context, s - from) < sameBeatMs) continue;
    if (markAfter && toMilliseconds(context, to - s) < sameBeatMs) continue;
    out.push(s);
  }
  return out;
}

/** Places for `count` beats: shared out between two marks, else counted from the one mark in usual intervals. */
function guessed(piece: Piece, count: number, usual: number): number[] {
  const { from, to, markBefore, markAfter } = piece;
  const step = markBefore && markAfter ? (to - from) / (count + 1) : Math.min(usual, (to - from) / count);
  const first = markBefore ? from + step : markAfter ? to - count * step : from + step / 2;
  return Array.from({ length: count }, (_, k) => Math.max(from, Math.min(to - 1, Math.round(first + k * step))));
}

/** How far from where the rhythm puts it a missing beat is looked for, as a share of the usual interval. */
const lookAround = 0.2;
/** So unlike the beats around that the rhythm is believed instead. */
const leastSimilarity = 0.6;

/** The guesses moved to the place nearby that is most like the beats around. */
function onBeats(context: Context, i: number, guesses: readonly number[]): number[] {
  const { features, beats, marks } = context;
  if (marks.length < 3 || guesses.length > 8) return [...guesses];
  const k = Math.min(i, marks.length - 1);
  const reach = lookAround * ((context.intervals.usual[k] ?? 0) || features.samplingRateHz);
  const step = 2 * features.factor;
  return guesses.map(guess => {
    let best = guess;
    let most = leastSimilarity;
    for (let at = guess - reach; at <= guess + reach; at += step) {
      const correlation = correlationAt(features, beats, i, at);
      if (correlation > most) [best, most] = [Math.round(at), correlation];
    }
    return best;
  });
}
