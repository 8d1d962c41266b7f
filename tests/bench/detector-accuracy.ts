import { detectBeats } from '../../src/core/detector/detect';
import { type DetectorRow, keepAccuracy } from './accuracy';
import type { BeatCounts } from './beat-counts';
import { countBeats } from './beat-counts';
import { withElectrodeMotion } from './electrode-motion';
import { openRecording, openRecordings, openRecordingsPresent } from './open-recordings';

/**
 * Sensitivity and positive predictive value on whole open recordings, match window 150 ms (ANSI/AAMI EC57 beat by
 * beat, no learning period), and F1 with simulated electrode-motion noise; beside a plain band-pass with peak finding.
 */
/** Baseline: 5 to 15 Hz by two moving averages, squared, smoothed over 120 ms, peaks above 0.15 of the local maximum. */
export function plainDetector(words: Int16Array, hz: number): Int32Array {
  const fast = movingAverage(Float64Array.from(words), Math.round(0.03 * hz));
  const slow = movingAverage(fast, Math.round(0.12 * hz));
  const energy = movingAverage(
    fast.map((v, i) => (v - slow[i]!) ** 2),
    Math.round(0.12 * hz),
  );
  const apart = Math.round(0.25 * hz);
  const peaks: number[] = [];
  for (let i = 1; i + 1 < energy.length; i++) {
    if (energy[i]! <= energy[i - 1]! || energy[i]! < energy[i + 1]!) continue;
    const last = peaks.at(-1);
    if (last === undefined || i - last >= apart) peaks.push(i);
    else if (energy[i]! > energy[last]!) peaks[peaks.length - 1] = i;
  }
  const reach = 4 * hz;
  const kept: number[] = [];
  for (let k = 0, lo = 0; k < peaks.length; k++) {
    while (peaks[lo]! < peaks[k]! - reach) lo++;
    let top = 0;
    for (let j = lo; j < peaks.length && peaks[j]! <= peaks[k]! + reach; j++) top = Math.max(top, energy[peaks[j]!]!);
    if (energy[peaks[k]!]! > 0.15 * top) kept.push(peaks[k]!);
  }
  return Int32Array.from(kept);
}

function movingAverage(x: Float64Array, width: number): Float64Array {
  const out = new Float64Array(x.length);
  const half = width >> 1;
  let sum = x[0]! * (2 * half + 1);
  for (let i = 0; i < x.length + half; i++) {
    sum += (x[i] ?? x.at(-1)!) - (x[i - 2 * half - 1] ?? x[0]!);
    if (i >= half) out[i - half] = sum / (2 * half + 1);
  }
  return out;
}

const percent = (x: number) => (100 * x).toFixed(2).padStart(6);

const rows: DetectorRow[] = [];

function row(label: string, ours: BeatCounts, plain: BeatCounts): void {
  rows.push({ label, ours, plain });
  const rates = ({ tp, fn, fp }: BeatCounts) =>
    `${percent(tp / (tp + fn))} ${percent(tp / (tp + fp))} ${percent((2 * tp) / (2 * tp + fn + fp))}`;
  console.log(
    `${label.padEnd(8)} ${String(ours.fn).padStart(4)} ${String(ours.fp).padStart(4)}  ${rates(ours)}    ${rates(plain)}`,
  );
}

function add(into: BeatCounts, from: BeatCounts): void {
  into.tp += from.tp;
  into.fn += from.fn;
  into.fp += from.fp;
}

function run(): void {
  console.log('record     FN   FP      Se    PPV     F1    plain: Se    PPV     F1');
  const gross = { ours: { tp: 0, fn: 0, fp: 0 }, plain: { tp: 0, fn: 0, fp: 0 } };
  for (const name of openRecordings) {
    const { words, beats, samplingRateHz } = openRecording(name);
    const ours = countBeats(beats, detectBeats(words, samplingRateHz).samples, samplingRateHz);
    const plain = countBeats(beats, plainDetector(words, samplingRateHz), samplingRateHz);
    row(name, ours, plain);
    add(gross.ours, ours);
    add(gross.plain, plain);
  }
  row('gross', gross.ours, gross.plain);
  console.log('with simulated electrode-motion noise, records 100 and 119:');
  for (const snrDb of [24, 18, 12, 6, 0, -6]) {
    const ours = { tp: 0, fn: 0, fp: 0 };
    const plain = { tp: 0, fn: 0, fp: 0 };
    for (const [name, seed] of [
      ['119', 1],
      ['100', 2],
    ] as const) {
      const { words, beats, samplingRateHz } = openRecording(name);
      const noisy = withElectrodeMotion(words, beats, samplingRateHz, snrDb, seed);
      add(ours, countBeats(beats, detectBeats(noisy, samplingRateHz).samples, samplingRateHz));
      add(plain, countBeats(beats, plainDetector(noisy, samplingRateHz), samplingRateHz));
    }
    row(`${snrDb} dB`, ours, plain);
  }
  keepAccuracy({ detector: rows });
}

if (openRecordingsPresent) run();
else console.log('not run: open recordings absent');
