import { expectedMistakes } from '../../../src/core/review/places/expected-mistakes';
import type { Judged, Mistake, Place } from './places';

/** Each place with its chance of a mistake. */
export type Chances = ReadonlyMap<Place, number>;

export interface ReliabilityRow {
  readonly from: number;
  readonly to: number;
  readonly places: number;
  readonly predicted: number;
  readonly observed: number;
}

const edges = [0, 0.02, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 1];

/** Among places of about the same chance, how many were mistakes. */
export function reliability(chances: Chances, places: readonly Place[]): ReliabilityRow[] {
  return edges.slice(1).flatMap((to, e) => {
    const from = edges[e]!;
    const own = places.filter(p => chances.get(p)! >= from && (chances.get(p)! < to || to === 1));
    if (own.length === 0) return [];
    const predicted = own.reduce((sum, p) => sum + chances.get(p)!, 0) / own.length;
    return [{ from, to, places: own.length, predicted, observed: own.filter(p => p.isMistake).length / own.length }];
  });
}

export interface FoundRow {
  readonly kind: Mistake['kind'];
  readonly mistakes: number;
  /** In the queue at all, above its line, and in its strongest places: 5 % of the beats. */
  readonly listed: number;
  readonly aboveLine: number;
  readonly top5: number;
}

/** The mistakes of each kind that the queue of one recording leads to. */
export function found(judged: Judged, ranked: readonly Place[], chances: Chances, line: number): FoundRow[] {
  const top = ranked.slice(0, Math.round(0.05 * judged.marks.length));
  const above = ranked.filter(p => chances.get(p)! >= line);
  return (['missed', 'wrong', 'extra'] as const).map(kind => {
    const own = judged.mistakes.filter(m => m.kind === kind);
    const count = (places: readonly Place[]) => own.filter(m => places.some(p => leadsTo(p, m))).length;
    return { kind, mistakes: own.length, listed: count(ranked), aboveLine: count(above), top5: count(top) };
  });
}

function leadsTo(place: Place, { from, to }: Mistake): boolean {
  return place.places.some(at => at >= from && at <= to);
}

/** Places looked at for each mistake found, in the order of the queue, until 95 % of what it leads to is found. */
export function looksPerMistake(judged: Judged, ranked: readonly Place[]): { looked: number; found: number } {
  const open = new Set(judged.mistakes);
  const reachable = judged.mistakes.filter(m => ranked.some(p => leadsTo(p, m))).length;
  const wanted = Math.ceil(0.95 * reachable);
  let looked = 0;
  for (const place of ranked) {
    if (reachable - (open.size - (judged.mistakes.length - reachable)) >= wanted) break;
    looked++;
    for (const m of open) if (leadsTo(place, m)) open.delete(m);
  }
  return { looked, found: judged.mistakes.length - open.size };
}

/** Five-minute stretches in which the number of mistakes lies in the range given for it. */
export function rangesHeld(
  judged: Judged,
  places: readonly Place[],
  chances: Chances,
): { stretches: number; held: number } {
  const step = 300 * judged.hz;
  const end = judged.marks.at(-1) ?? 0;
  let stretches = 0;
  let held = 0;
  for (let start = 0; start + step <= end; start += step) {
    const inside = (at: number) => at >= start && at < start + step;
    const { low, high } = expectedMistakes(places.filter(p => inside(p.at)).map(p => chances.get(p)!));
    const count = places.filter(p => inside(p.at) && p.isMistake).length;
    stretches++;
    if (count >= low && count <= high) held++;
  }
  return { stretches, held };
}

/** Suggestions, and how many of them put something right. */
export function suggestions(judged: Judged, places: readonly Place[]): { made: number; right: number } {
  const tolerance = 0.05 * judged.hz;
  const made = places.filter(p => p.suggestion !== null);
  const onBeat = (at: number) => judged.beats.some(b => Math.abs(b - at) <= tolerance);
  const right = made.filter(({ suggestion, isMistake }) => {
    if (!isMistake || !suggestion) return false;
    if (suggestion.kind === 'delete') return !onBeat(suggestion.at);
    return onBeat(suggestion.kind === 'move' ? suggestion.to : suggestion.at);
  });
  return { made: made.length, right: right.length };
}
