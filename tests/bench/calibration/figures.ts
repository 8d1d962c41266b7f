import { grouped, type Judged, leadsTo, type Mistake, type Place } from './places';

/** Each place with its chance of a mistake. */
export type Chances = ReadonlyMap<Place, number>;

export interface ReliabilityRow {
  readonly from: number;
  readonly to: number;
  readonly places: number;
  readonly predicted: number;
  readonly observed: number;
  /** Share that were mistakes in the record with the smallest and with the largest; null without two. */
  readonly records: { readonly least: number; readonly most: number } | null;
}

const edges = [0, 0.02, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 1];
/** Records with fewer places of a chance say nothing of their own. */
const enough = 10;

/** Among places of about the same chance, how many were mistakes. */
export function reliability(chances: Chances, places: readonly Place[]): ReliabilityRow[] {
  return edges.slice(1).flatMap((to, e) => {
    const from = edges[e]!;
    const own = places.filter(p => chances.get(p)! >= from && (chances.get(p)! < to || to === 1));
    if (own.length === 0) return [];
    const predicted = own.reduce((sum, p) => sum + chances.get(p)!, 0) / own.length;
    const byRecord = grouped(own, p => p.record);
    const shares = [...byRecord.values()].filter(of => of.length >= enough).map(share);
    const records = shares.length > 1 ? { least: Math.min(...shares), most: Math.max(...shares) } : null;
    return [{ from, to, places: own.length, predicted, observed: share(own), records }];
  });
}

function share(places: readonly Place[]): number {
  return places.filter(p => p.isMistake).length / places.length;
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
