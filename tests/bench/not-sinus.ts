// How many beats that are not sinus are proposed on the open records, whose labels are the key. Constants are chosen on
// four records and measured on the other four, both ways. `npm run bench:not-sinus` stores not-sinus.json.
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { type BeatMeasures, beatMeasures } from '../../src/core/detector/sinus/measures';
import { notSinusReasons } from '../../src/core/detector/sinus/not-sinus';
import { type SinusTuning, sinusTuning } from '../../src/core/detector/sinus/tuning';
import { signalFeatures } from '../../src/core/detector/suspicion/features';
import { intervalCheck } from '../../src/core/hrv/interval-check';
import { nnIntervals } from '../../src/core/hrv/nn';
import { noMarks } from '../../src/core/marks/markset';
import { span } from '../../src/core/units';
import {
  openClasses,
  openLead,
  openMvPerUnit,
  openRecording,
  openRecordings,
  openRecordingsPresent,
} from './open-recordings';
import { fusion, isNotSinus, unclassified } from './sinus-key';

interface Counts {
  tp: number;
  fn: number;
  fp: number;
}

/** What each limit could be; the search begins in the middle. */
const choices: Readonly<Record<keyof SinusTuning, readonly number[]>> = {
  anotherKind: [0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4],
  kindTimes: [0.7, 0.9, 1.2, 1.5, 2],
  aloneTimes: [1, 1.5, 1.8, 2.4, 3],
  aloneEarly: [0.1, 0.15, 0.2, 0.25],
  family: [3, 5, 10, 20],
  mixedUnlike: [0.06, 0.08, 0.1, 0.12, 0.15, 0.2],
  mixedTimes: [1.6, 1.9, 2.2, 2.5, 3, 3.5],
  leastTimes: [0, 0.5, 0.75, 1, 1.25, 1.5],
  leastTimesConducted: [1, 1.5, 2, 2.5, 3],
  inIrregular: [0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9],
  byEarly: [0, 0.25, 0.5, 0.75],
  early: [0.1, 0.125, 0.15, 0.2, 0.25],
  pause: [1, 1.05, 1.1],
  steady: [0.05, 0.08, 0.11],
  veryEarly: [0.2, 0.25, 0.3, 0.35, 0.4],
  earlyNoP: [0.1, 0.15, 0.2, 0.25],
  noP: [0.1, 0.2, 0.3, 0.4, 0.5],
  timely: [0.7, 0.8, 0.85, 0.9, 0.95],
  hurried: [0, 1, 2],
  lateNoP: [0.08, 0.1, 0.15, 0.2],
  lateP: [0.1, 0.15, 0.2, 0.3, 0.4],
  lateAfter: [0.8, 0.9, 0.95, 1, 1.05],
  goesOn: [0.9, 0.95, 1, 1.05, 1.1],
  goesOnP: [0.1, 0.2, 0.3, 0.4],
  clear: [2, 2.5, 3, 3.5, 4],
};
/** Values within this of the best F1, side by side, are as good as the best: the middle one of them is taken. */
const asGood = 0.002;

interface Measured {
  readonly name: string;
  readonly beats: Int32Array;
  readonly classes: readonly number[];
  readonly measures: BeatMeasures;
}

function measured(name: string, leads: 1 | 2): Measured {
  const { words, beats, samplingRateHz } = openRecording(name);
  const signals = [words, openLead(`${name}-lead2`)].slice(0, leads);
  const measures = beatMeasures(
    signals.map(w => ({ features: signalFeatures(w, samplingRateHz), mvPerUnit: openMvPerUnit })),
    beats,
  );
  return { name, beats, classes: openClasses(name), measures };
}

function counted(record: Measured, tuning: SinusTuning): Counts {
  const reasons = notSinusReasons(record.measures, tuning);
  const counts = { tp: 0, fn: 0, fp: 0 };
  for (const [k, label] of record.classes.entries()) {
    if (label === unclassified) continue;
    const isProposed = reasons[k] !== null;
    if (isNotSinus(label)) counts[isProposed ? 'tp' : 'fn']++;
    else if (isProposed) counts.fp++;
  }
  return counts;
}

function sumOf(list: readonly Counts[]): Counts {
  const sum = { tp: 0, fn: 0, fp: 0 };
  for (const c of list) for (const key of ['tp', 'fn', 'fp'] as const) sum[key] += c[key];
  return sum;
}

const f1 = ({ tp, fn, fp }: Counts) => (2 * tp) / Math.max(1, 2 * tp + fn + fp);
const scoreOf = (records: readonly Measured[], tuning: SinusTuning) => f1(sumOf(records.map(r => counted(r, tuning))));

/** One limit after the other, three times through, each put in the middle of where it does best or nearly so. */
function chosenOn(records: readonly Measured[]): SinusTuning {
  const limits = Object.entries(choices) as [keyof SinusTuning, number[]][];
  let tuning = Object.fromEntries(limits.map(([name, of]) => [name, of[of.length >> 1]!])) as unknown as SinusTuning;
  for (let round = 0; round < 3; round++)
    for (const [name, values] of limits) {
      const scores = values.map(value => scoreOf(records, { ...tuning, [name]: value }));
      tuning = { ...tuning, [name]: values[middleOfBest(scores)]! };
    }
  return tuning;
}

/** Each score counts half, its neighbours a quarter each, so that no narrow peak is chosen. */
function middleOfBest(scores: readonly number[]): number {
  const smooth = scores.map((s, i) => s / 2 + ((scores[i - 1] ?? s) + (scores[i + 1] ?? s)) / 4);
  const best = smooth.indexOf(Math.max(...smooth));
  const isGood = (i: number) => (smooth[i] ?? 0) >= smooth[best]! - asGood;
  let [low, high] = [best, best];
  while (isGood(low - 1)) low--;
  while (isGood(high + 1)) high++;
  return Math.round((low + high) / 2);
}

/** Of each label's beats, how many there are and how many come out wrong. */
function byLabel(records: readonly Measured[]) {
  const found = new Map<number, { label: number; beats: number; wrong: number }>();
  for (const { classes, measures } of records)
    for (const [k, reason] of notSinusReasons(measures).entries()) {
      const label = classes[k]!;
      const of = found.get(label) ?? { label, beats: 0, wrong: 0 };
      found.set(label, of);
      of.beats++;
      if (label !== unclassified && isNotSinus(label) !== (reason !== null)) of.wrong++;
    }
  return [...found.values()].sort((a, b) => a.label - b.label);
}

function rowOf(record: Measured, oneLead: Measured, others: SinusTuning, othersOneLead: SinusTuning) {
  const reasons = notSinusReasons(record.measures);
  const missed = (wanted: (label: number) => boolean) =>
    record.classes.filter((label, k) => wanted(label) && reasons[k] === null).length;
  const { samplingRateHz } = openRecording(record.name);
  const series = nnIntervals({ beats: record.beats, excluded: [], nonSinus: noMarks, samplingRateHz }, wholeTime);
  return {
    record: record.name,
    own: counted(record, sinusTuning),
    others: counted(record, others),
    oneLead: counted(oneLead, sinusTuning),
    othersOneLead: counted(oneLead, othersOneLead),
    fusionBeats: record.classes.filter(label => fusion.includes(label)).length,
    fusionMissed: missed(label => fusion.includes(label)),
    byIntervals: intervalCheck(series).share,
  };
}

const wholeTime = span(0, 0x7fffffff);

if (openRecordingsPresent) {
  const halves = [
    ['100', '108', '203', '217'],
    ['105', '119', '208', '222'],
  ];
  const records = openRecordings.map(name => measured(name, 2));
  const oneLead = openRecordings.map(name => measured(name, 1));
  const inHalf = (of: readonly Measured[], i: number) => of.filter(r => halves[i]!.includes(r.name));
  const chosen = [0, 1].map(i => chosenOn(inHalf(records, i)));
  const chosenOneLead = [0, 1].map(i => chosenOn(inHalf(oneLead, i)));
  const other = (name: string) => (halves[0]!.includes(name) ? 1 : 0);
  const rows = records.map((r, i) => rowOf(r, oneLead[i]!, chosen[other(r.name)]!, chosenOneLead[other(r.name)]!));
  const counts = ['own', 'others', 'oneLead', 'othersOneLead'] as const;
  console.table(rows.map(r => ({ ...r, ...Object.fromEntries(counts.map(c => [c, JSON.stringify(r[c])])) })));
  for (const c of counts) console.log(c, JSON.stringify(sumOf(rows.map(r => r[c]))));
  const stored = {
    limits: sinusTuning,
    chosen: { [halves[0]!.join(', ')]: chosen[0], [halves[1]!.join(', ')]: chosen[1] },
    rows,
    labels: byLabel(records),
  };
  writeFileSync(join(import.meta.dirname, 'not-sinus.json'), `${JSON.stringify(stored, null, 2)}\n`);
} else console.log('not run: open recordings absent');
