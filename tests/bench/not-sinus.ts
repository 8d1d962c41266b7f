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
import { openClasses, openRecording, openRecordings, openRecordingsPresent } from './open-recordings';
import { fusion, isNotSinus, unclassified } from './sinus-key';

interface Counts {
  tp: number;
  fn: number;
  fp: number;
}

/** What each limit could be; the search begins in the middle. */
const choices: Readonly<Record<keyof SinusTuning, readonly number[]>> = {
  anotherKind: [0.05, 0.1, 0.2, 0.3, 0.4],
  family: [3, 5, 10, 20, 40],
  aloneUnlike: [0.15, 0.2, 0.27, 0.35, 0.5],
  aloneTimesNoise: [1.2, 1.8, 2.4, 3, 4],
  aloneEarly: [0.1, 0.15, 0.2, 0.25, 0.3],
  mixedUnlike: [0.08, 0.12, 0.16, 0.2, 0.3],
  mixedTimesVariety: [2, 3.5, 5],
  inIrregular: [0.4, 0.5, 0.6, 0.7, 0.8],
  early: [0.1, 0.125, 0.15, 0.2, 0.25],
  pause: [1, 1.05, 1.1],
  steady: [0.05, 0.08, 0.11],
  earlyNoP: [0.1, 0.15, 0.2],
  noP: [0.1, 0.2, 0.3, 0.4, 0.5],
  lateNoP: [0.1, 0.15, 0.2, 0.25, 0.3],
  lateP: [0.1, 0.15, 0.2, 0.3, 0.4],
  longestRun: [1, 2, 3],
  clear: [2, 2.5, 3, 3.5, 4],
};

interface Measured {
  readonly name: string;
  readonly beats: Int32Array;
  readonly classes: readonly number[];
  readonly measures: BeatMeasures;
}

function measured(name: string): Measured {
  const { words, beats, samplingRateHz } = openRecording(name);
  const measures = beatMeasures(signalFeatures(words, samplingRateHz), beats);
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

/** One limit after the other, twice through, each put where it does best; a tie keeps what there was. */
function chosenOn(records: readonly Measured[]): SinusTuning {
  const limits = Object.entries(choices) as [keyof SinusTuning, number[]][];
  let tuning = Object.fromEntries(limits.map(([name, of]) => [name, of[of.length >> 1]!])) as unknown as SinusTuning;
  let best = scoreOf(records, tuning);
  for (let round = 0; round < 2; round++)
    for (const [name, values] of limits)
      for (const value of values) {
        const next = { ...tuning, [name]: value };
        const score = scoreOf(records, next);
        if (score > best) [best, tuning] = [score, next];
      }
  return tuning;
}

function rowOf(record: Measured, own: SinusTuning, others: SinusTuning) {
  const reasons = notSinusReasons(record.measures);
  const missed = (wanted: (label: number) => boolean) =>
    record.classes.filter((label, k) => wanted(label) && reasons[k] === null).length;
  const { samplingRateHz } = openRecording(record.name);
  const series = nnIntervals({ beats: record.beats, excluded: [], nonSinus: noMarks, samplingRateHz }, wholeTime);
  return {
    record: record.name,
    own: counted(record, own),
    others: counted(record, others),
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
  const records = openRecordings.map(measured);
  const inHalf = (i: number) => records.filter(r => halves[i]!.includes(r.name));
  const chosen = [chosenOn(inHalf(0)), chosenOn(inHalf(1))] as const;
  const others = (name: string) => chosen[halves[0]!.includes(name) ? 1 : 0];
  const rows = records.map(r => rowOf(r, sinusTuning, others(r.name)));
  console.table(rows.map(r => ({ ...r, own: JSON.stringify(r.own), others: JSON.stringify(r.others) })));
  const stored = {
    limits: sinusTuning,
    chosen: { [halves[0]!.join(', ')]: chosen[0], [halves[1]!.join(', ')]: chosen[1] },
    rows,
  };
  writeFileSync(join(import.meta.dirname, 'not-sinus.json'), `${JSON.stringify(stored, null, 2)}\n`);
} else console.log('not run: open recordings absent');
