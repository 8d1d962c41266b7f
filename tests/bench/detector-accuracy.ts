import { detectBeats } from '../../src/core/detector/detect';
import { type DetectorRow, keepAccuracy } from './accuracy';
import type { BeatCounts } from './beat-counts';
import { countBeats } from './beat-counts';
import { withElectrodeMotion } from './electrode-motion';
import { openRecording, openRecordings, openRecordingsPresent } from './open-recordings';
import { plainDetector } from './plain-marks';

/**
 * Sensitivity and positive predictive value on whole open recordings, match window 150 ms (ANSI/AAMI EC57 beat by
 * beat, no learning period), and F1 with simulated electrode-motion noise; beside a plain band-pass with peak finding.
 */
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
