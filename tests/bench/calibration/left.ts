import type { ReasonId } from '../../../src/core/detector/suspicion/reasons';
import {
  type ExpectedMistakes,
  expectedMistakes,
  type OpenPlace,
} from '../../../src/core/review/places/expected-mistakes';
import { faint, groupOf, usualSpread } from '../../../src/core/review/places/groups';
import { conditional, type Effect, estimateEffect, overEffect } from '../../../src/core/review/places/random-intercept';
import type { Chances } from './figures';
import { grouped, type Judged, leadsTo, type Place } from './places';

/** A recording as its queue is first shown: each place with its chance by a fit that has not seen it. */
export interface Predicted {
  readonly judged: Judged;
  readonly places: readonly Place[];
  readonly chances: Chances;
  /** The chance that a mark without a place is a mistake. */
  readonly unlisted: number;
}

export interface Range extends ExpectedMistakes {
  /** How many there were. */
  readonly were: number;
}

/** The number of mistakes said and true in each five minutes, before anything was looked at. */
export function stretches(predicted: Predicted): Range[] {
  const { marks, mistakes, hz } = predicted.judged;
  const step = 300 * hz;
  const out: Range[] = [];
  for (let start = 0; start + step <= (marks.at(-1) ?? 0); start += step) {
    const inside = ({ at }: { readonly at: number }) => at >= start && at < start + step;
    const places = predicted.places.filter(inside);
    const marksIn = marks.filter(at => inside({ at })).length;
    const said = expectedMistakes(openPlaces(predicted, places, marksIn, new Map()));
    out.push({ ...said, were: mistakes.filter(inside).length });
  }
  return out;
}

function openPlaces(
  { chances, unlisted }: Predicted,
  places: readonly Place[],
  marks: number,
  effects: ReadonlyMap<string, Effect>,
): OpenPlace[] {
  const open = places.map(p => ({ count: p.places.length, ...weighed(chances.get(p)!, p, effects) }));
  const count = Math.max(0, marks - places.filter(p => p.about === 'mark').length);
  return [...open, { chance: unlisted, count, group: faint, spread: effectOf(faint, effects).spread }];
}

function groupOfPlace(score: number, { strengths }: Place): string {
  return groupOf(score, Object.keys(strengths) as ReasonId[]);
}

function effectOf(group: string, effects: ReadonlyMap<string, Effect>): Effect {
  return effects.get(group) ?? { shift: 0, spread: usualSpread(group) };
}

/** As the queue weighs a place anew by what was decided so far. */
function weighed(score: number, place: Place, effects: ReadonlyMap<string, Effect>) {
  const group = groupOfPlace(score, place);
  const effect = effectOf(group, effects);
  return { chance: overEffect(conditional(score, usualSpread(group)), effect), group, spread: effect.spread };
}

function learned(decided: readonly Place[], chances: Chances): Map<string, Effect> {
  const groups = grouped(decided, p => groupOfPlace(chances.get(p)!, p));
  const effects = [...groups].map(([group, of]) => {
    const spread = usualSpread(group);
    const logOdds = of.map(p => conditional(chances.get(p)!, spread));
    return [group, estimateEffect(logOdds, of.filter(p => p.isMistake).length, spread)] as const;
  });
  return new Map(effects);
}

/** The number left in the whole recording after someone who knows the truth has settled so many places, strongest first. */
export function afterPlaces(predicted: Predicted, counts: readonly number[]): Range[] {
  const { places, chances } = predicted;
  const open = new Set(places);
  const decided: Place[] = [];
  let effects = learned(decided, chances);
  return counts.map(count => {
    for (; decided.length < count && open.size > 0; effects = learned(decided, chances)) {
      const gain = (p: Place) => p.places.length * weighed(chances.get(p)!, p, effects).chance;
      let best: Place | null = null;
      for (const p of open) if (!best || gain(p) > gain(best)) best = p;
      open.delete(best!);
      decided.push(best!);
    }
    return left(predicted, decided, 0);
  });
}

/** The number left behind the first so many seconds, after these were looked at in full. */
export function afterStart(predicted: Predicted, seconds: number): Range {
  const end = seconds * predicted.judged.hz;
  return left(
    predicted,
    predicted.places.filter(p => p.at < end),
    end,
  );
}

function left(predicted: Predicted, decided: readonly Place[], from: number): Range {
  const { judged, places, chances } = predicted;
  const done = new Set(decided);
  const open = places.filter(p => !done.has(p));
  const marks =
    judged.marks.filter(at => at >= from).length - decided.filter(p => p.about === 'mark' && p.at >= from).length;
  const said = expectedMistakes(openPlaces(predicted, open, marks, learned(decided, chances)));
  const found = decided.filter(p => p.isMistake);
  const were = judged.mistakes.filter(m => m.at >= from && !found.some(p => leadsTo(p, m))).length;
  return { ...said, were };
}

/** How many ranges held, and the median factor by which the number said and the true one differ (of each plus one). */
export function summary(ranges: readonly Range[]) {
  const factors = ranges.map(r => Math.exp(Math.abs(Math.log((r.expected + 1) / (r.were + 1)))));
  factors.sort((a, b) => a - b);
  const mean = (of: (r: Range) => number) => ranges.reduce((sum, r) => sum + of(r), 0) / ranges.length;
  return {
    ranges: ranges.length,
    held: ranges.filter(r => r.were >= r.low && r.were <= r.high).length,
    said: mean(r => r.expected),
    were: mean(r => r.were),
    low: mean(r => r.low),
    high: mean(r => r.high),
    factor: factors[factors.length >> 1]!,
  };
}
