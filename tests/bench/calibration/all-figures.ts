import { worthALook } from '../../../src/core/review/places/groups';
import { alternatives, logLoss } from './alternatives';
import { found, looksPerMistake, reliability, suggestions } from './figures';
import { afterPlaces, afterStart, type Predicted, type Range, stretches, summary } from './left';
import { crossValidated, folds, unlistedShare } from './model';
import type { Judged, Place } from './places';

const sources = ['real', 'second lead', 'planted', 'samples'] as const;
type All = ReadonlyMap<Judged, readonly Place[]>;

/** What the queue leads to and in how many looks, of the mistakes of one source. */
function queueFigures(own: readonly Predicted[]) {
  const sums = { looked: 0, found: 0, made: 0, right: 0 };
  const kinds = new Map<string, { mistakes: number; listed: number; aboveLine: number; top5: number }>();
  for (const { judged, places, chances } of own) {
    const ranked = [...places].sort((a, b) => chances.get(b)! - chances.get(a)!);
    const looks = looksPerMistake(judged, ranked);
    for (const part of [looks, suggestions(judged, places)])
      for (const [k, v] of Object.entries(part)) sums[k as keyof typeof sums] += v;
    for (const { kind, ...row } of found(judged, ranked, chances, worthALook)) {
      const sum = kinds.get(kind) ?? { mistakes: 0, listed: 0, aboveLine: 0, top5: 0 };
      for (const k of ['mistakes', 'listed', 'aboveLine', 'top5'] as const) sum[k] += row[k];
      kinds.set(kind, sum);
    }
    const above = ranked.filter(p => chances.get(p)! >= worthALook).length;
    console.log(
      `  ${judged.record}: ${judged.mistakes.length} mistakes, ${places.length} places, ${above} above the line, ${looks.looked} looked at for ${looks.found} found`,
    );
  }
  return { kinds: Object.fromEntries(kinds), ...sums };
}

/** By how many mistakes were to be expected in five minutes. */
const sizes = [0, 1, 3, 10, 30, Number.POSITIVE_INFINITY];

function rangeFigures(own: readonly Predicted[]) {
  const byRecord = own.map(p => ({ record: p.judged.record, ranges: stretches(p) }));
  const ranges = byRecord.flatMap(r => r.ranges);
  const bySize = sizes.slice(1).flatMap((to, k) => {
    const from = sizes[k]!;
    const inside = ranges.filter(r => r.expected >= from && r.expected < to);
    return inside.length > 0 ? [{ from, ...summary(inside) }] : [];
  });
  return {
    all: summary(ranges),
    bySize,
    records: byRecord.map(({ record, ranges: r }) => ({ record, ...summary(r) })),
  };
}

const settled = [0, 10, 20, 50];

function repairFigures(own: readonly Predicted[]) {
  const after = own.map(p => afterPlaces(p, settled));
  const rows: { after: string; ranges: readonly Range[] }[] = settled.map((n, k) => {
    return { after: n === 0 ? 'nothing' : `${n} places`, ranges: after.map(a => a[k]!) };
  });
  rows.push({ after: 'the first 5 min', ranges: own.map(p => afterStart(p, 300)) });
  return rows.map(({ after: what, ranges }) => ({ after: what, ...summary(ranges) }));
}

/** The figures of each source of mistakes, as they are stored. */
export function figuresOf(all: All) {
  const places = [...all.values()].flat();
  const chances = crossValidated(places, folds.record);
  const halves = crossValidated(places, folds.half);
  const { ownShare, relative } = alternatives(all, chances);
  return sources.map(source => {
    console.log(`\n${source}`);
    const predicted = [...all].filter(([judged]) => judged.source === source);
    const own = predicted.map(([judged, of]): Predicted => {
      return { judged, places: of, chances, unlisted: unlistedShare(all, judged.record) };
    });
    const flat = own.flatMap(p => p.places);
    const byHalves = own.map(p => ({ ...p, chances: halves }));
    const out = {
      source,
      reliability: reliability(chances, flat),
      halves: reliability(halves, flat),
      ...queueFigures(own),
      ranges: rangeFigures(own),
      rangesOfHalves: summary(byHalves.flatMap(stretches)),
      repair: repairFigures(own),
      logLoss: { own: logLoss(flat, chances), ownShare: logLoss(flat, ownShare), relative: logLoss(flat, relative) },
    };
    console.log(JSON.stringify({ ...out, source }, (_, v) => (typeof v === 'number' ? Number(v.toPrecision(3)) : v)));
    return out;
  });
}
