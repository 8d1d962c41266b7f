import { covers } from '../../marks/spans';
import { likenessAt } from './beats';
import type { Context } from './context';
import { toMilliseconds, unmarkedIn } from './context';
import { seenPieces } from './intervals';
import type { Finding } from './reasons';
import { longInterval, secondFindsMore } from './reasons';

/** A stretch between two marks (or before the first, after the last) in which beats may be missing. */
export interface MissingBeats {
  /** Where the first of them is thought to be. */
  readonly at: number;
  readonly places: readonly number[];
  readonly findings: Finding[];
}

/** Never offer more places than this at once: whoever inserts the first ones gets the next. */
const mostPlaces = 50;

/** What the stretch before mark i (i = marks.length: after the last) is missing. One answer per piece with signal. */
export function missingBefore(context: Context, i: number): readonly MissingBeats[] {
  const { marks, features } = context;
  const end = i < marks.length ? marks[i]! : features.working.length * features.factor;
  const start = i > 0 ? marks[i - 1]! : 0;
  if (nothingMissing(context, i, start, end)) return none;
  const out: MissingBeats[] = [];
  for (const [from, to] of seenPieces(start, end, context.blind)) {
    const bounded = (from === start && i > 0 ? 1 : 0) + (to === end && i < marks.length ? 1 : 0);
    const found = missingIn(context, i, from, to, bounded);
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

/** `bounded`: how many ends of the piece are marks; an open end may lie anywhere within an interval. */
function missingIn(context: Context, i: number, from: number, to: number, bounded: number): MissingBeats | null {
  const hz = context.features.samplingRateHz;
  const k = Math.min(i, context.marks.length - 1);
  const usual = (context.intervals.usual[k] ?? 0) || hz;
  const spread = context.intervals.spread[k] ?? 0;
  const ratio = (to - from) / usual + (2 - bounded) * 0.5;
  const findings: Finding[] = [];
  const long = bounded < 2 && (to - from) / usual < 1.1 ? null : longInterval(ratio, spread);
  if (long) findings.push(long);
  const seen = seenByBoth(context, from, to, bounded);
  if (seen.length > 0) {
    const room = bounded === 0 ? 1 : Math.min(seen[0]! - from, to - seen[0]!) / usual;
    findings.push(secondFindsMore(likenessAt(context.features, context.beats, i, seen[0]!), room));
  }
  if (findings.length === 0) return null;
  const places = seen.length > 0 ? seen : evenly(from, to, Math.max(1, Math.round(ratio) - 1), bounded);
  return { at: places[0]!, places: places.slice(0, mostPlaces), findings };
}

function seenByBoth(context: Context, from: number, to: number, bounded: number): number[] {
  const out: number[] = [];
  for (const s of unmarkedIn(context, from, to)) {
    if (covers(context.secondUnsure, s)) continue;
    const near = Math.min(s - from, to - s);
    if (bounded > 0 && toMilliseconds(context, near) < 150) continue;
    out.push(s);
  }
  return out;
}

function evenly(from: number, to: number, count: number, bounded: number): number[] {
  const parts = count + (bounded === 2 ? 1 : 0);
  const step = (to - from) / Math.max(1, parts);
  const first = bounded === 2 ? from + step : from + step / 2;
  return Array.from({ length: count }, (_, k) => Math.round(first + k * step));
}
