import { detectBeats } from '../../src/core/detector/detect';
import type { SuspicionInput } from '../../src/core/detector/suspicion/context';
import { signalFeatures } from '../../src/core/detector/suspicion/features';
import { suspicions } from '../../src/core/detector/suspicion/suspicion';
import { startReview } from '../../src/core/marks/edit';
import { reviewQueue } from '../../src/core/review/places/queue';
import { keepAccuracy, type QueueRow } from './accuracy';
import { openRecording, openRecordings, openRecordingsPresent, sinusRecordings } from './open-recordings';
import type { Kind, Planted } from './planted';
import { kinds, plantMistakes } from './planted';

/**
 * Where in the review queue planted mistakes come: share of them among the top 1, 2 and 5 % of beats, per kind and
 * record, beside a baseline that ranks marks by how far their RR interval lies from the local median alone.
 */
const shares = [0.01, 0.02, 0.05];
const rate = 0.0075;
const seeds = Array.from({ length: 20 }, (_, i) => 11 + i);

type Counts = Map<Kind, { total: number; ours: number[]; baseline: number[] }>;

function emptyCounts(): Counts {
  return new Map(kinds.map(k => [k, { total: 0, ours: [0, 0, 0], baseline: [0, 0, 0] }]));
}

/** Marks by |RR - median of the 10 around| over that median, most deviating first. */
function rankByInterval(marks: Int32Array): number[] {
  const rr = Array.from(marks, (m, i) => (i > 0 ? m - marks[i - 1]! : 0));
  const deviation = rr.map((v, i) => {
    const around = rr.slice(Math.max(1, i - 5), i + 6).sort((a, b) => a - b);
    const median = around[around.length >> 1] ?? v;
    return i === 0 ? 0 : Math.abs(v - median) / median;
  });
  return Array.from(marks.keys())
    .sort((a, b) => deviation[b]! - deviation[a]!)
    .map(i => marks[i]!);
}

function foundIn(places: readonly number[], planted: Planted): boolean {
  return places.some(at => at >= planted.from && at <= planted.to);
}

function measure(name: string, counts: Counts): void {
  const { words, beats, samplingRateHz } = openRecording(name);
  const second = detectBeats(words, samplingRateHz);
  const features = signalFeatures(words, samplingRateHz);
  for (const seed of seeds) {
    const { marks, planted } = plantMistakes(beats, samplingRateHz, rate, seed);
    const input: SuspicionInput = {
      features,
      marks,
      second: second.samples,
      secondChance: second.probability,
      secondUnsure: second.unsure,
      gaps: [],
      unreadable: [],
    };
    const queue = reviewQueue(suspicions(input), startReview(marks), samplingRateHz).map(item => item.at as number);
    const baseline = rankByInterval(marks);
    for (const p of planted) {
      const c = counts.get(p.kind)!;
      c.total++;
      for (const [s, share] of shares.entries()) {
        const n = Math.round(share * beats.length);
        if (foundIn(queue.slice(0, n), p)) c.ours[s]!++;
        if (foundIn(baseline.slice(0, n), p)) c.baseline[s]!++;
      }
    }
  }
}

function merge(into: Counts, from: Counts): void {
  for (const [kind, c] of from) {
    const t = into.get(kind)!;
    t.total += c.total;
    for (const s of shares.keys()) {
      t.ours[s]! += c.ours[s]!;
      t.baseline[s]! += c.baseline[s]!;
    }
  }
}

const percent = (n: number, of: number) => (of === 0 ? '    -' : ((100 * n) / of).toFixed(1).padStart(5));

const rows: QueueRow[] = [];

function print(label: string, counts: Counts): void {
  const all = { total: 0, ours: [0, 0, 0], baseline: [0, 0, 0] };
  for (const [kind, c] of [...counts, ['all', all] as const]) {
    if (kind !== 'all') {
      all.total += c.total;
      for (const s of shares.keys()) {
        all.ours[s]! += c.ours[s]!;
        all.baseline[s]! += c.baseline[s]!;
      }
    }
    if (label === 'sinus' || label === 'arrhythmic') rows.push({ label, kind, ...c });
    const row = (values: number[]) => values.map(v => percent(v, c.total)).join('  ');
    console.log(
      `${label.padEnd(11)} ${kind.padEnd(8)} ${String(c.total).padStart(5)}   ${row(c.ours)}   ${row(c.baseline)}`,
    );
  }
}

if (openRecordingsPresent) {
  console.log(
    `mistakes of each kind planted in ${100 * rate} % of the expert beats, ${seeds.length} seeds; % found in the top of the queue`,
  );
  console.log('record      kind     count   top 1 %   2 %   5 %   by RR interval alone: 1 %   2 %   5 %');
  const sinus = emptyCounts();
  const others = emptyCounts();
  for (const name of openRecordings) {
    const counts = emptyCounts();
    measure(name, counts);
    print(name, counts);
    merge(sinusRecordings.includes(name) ? sinus : others, counts);
  }
  print('sinus', sinus);
  print('arrhythmic', others);
  keepAccuracy({ queue: rows });
} else console.log('not run: open recordings absent');
