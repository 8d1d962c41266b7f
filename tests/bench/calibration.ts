import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { worthALook } from '../../src/core/review/places/groups';
import { type Chances, found, looksPerMistake, reliability, suggestions } from './calibration/figures';
import { afterPlaces, afterStart, type Predicted, type Range, stretches, summary } from './calibration/left';
import { crossValidated, fitModel, folds, modelSource, unlistedShare } from './calibration/model';
import { type Judged, judgedOpen, type Place, placesOf } from './calibration/places';
import { judgedSamples } from './calibration/samples';
import { openRecordings, openRecordingsPresent } from './open-recordings';

/**
 * How the chance of a mistake that the queue gives each place holds: on mistakes that a plain detector really made on
 * the open recordings (both leads), beside planted ones and those of the sample sessions. Each record is predicted by a
 * fit that has not seen it. With --write the figures are stored and the fit over all of them becomes the page's.
 */
const root = join(import.meta.dirname, '../..');
const sources = ['real', 'second lead', 'planted', 'samples'] as const;
type All = ReadonlyMap<Judged, readonly Place[]>;

async function gather(): Promise<All> {
  const out = new Map<Judged, Place[]>();
  const add = (judged: Judged) => out.set(judged, placesOf(judged));
  for (const name of openRecordings)
    for (const s of ['real', 'second lead', 'planted'] as const) add(judgedOpen(name, s));
  for (const volunteer of ['V01', 'V02', 'V03', 'V04'])
    for (const judged of await judgedSamples(volunteer)) add(judged);
  return out;
}

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

function figuresOf(all: All, chances: Chances, fold: (record: string) => string) {
  const places = [...all.values()].flat();
  const halves = crossValidated(places, folds.half);
  return sources.map(source => {
    console.log(`\n${source}`);
    const predicted = [...all].filter(([judged]) => judged.source === source);
    const own = predicted.map(([judged, of]): Predicted => {
      return { judged, places: of, chances, unlisted: unlistedShare(all, fold(judged.record)) };
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
    };
    console.log(JSON.stringify({ ...out, source }, (_, v) => (typeof v === 'number' ? Number(v.toPrecision(3)) : v)));
    return out;
  });
}

async function run(): Promise<void> {
  const all = await gather();
  const places = [...all.values()].flat();
  const stored = figuresOf(all, crossValidated(places, folds.record), folds.record);
  if (!process.argv.includes('--write')) return;
  writeFileSync(join(import.meta.dirname, 'calibration.json'), `${JSON.stringify(stored, null, 2)}\n`);
  const alone = [...all.keys()].flatMap(judged => placesOf(judged, judged.alone));
  const fitted = (of: readonly Place[]) => ({ mark: fitModel(of, 'mark'), gap: fitModel(of, 'gap') });
  const source = modelSource(fitted(places), fitted(alone), unlistedShare(all, null));
  writeFileSync(join(root, 'src/core/detector/suspicion/model.ts'), source);
}

if (openRecordingsPresent) await run();
else console.log('not run: open recordings absent');
