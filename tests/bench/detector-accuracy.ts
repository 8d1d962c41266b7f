import { detectBeats } from '../../src/core/detector/detect';
import { type DetectorRow, keepAccuracy } from './accuracy';
import type { BeatCounts } from './beat-counts';
import { countBeats } from './beat-counts';
import { withElectrodeMotion } from './electrode-motion';
import { mixture, noiseHalves, noisePresent, ratiosDb } from './noise-mixture';
import { type OpenRecording, openRecording, openRecordings, openRecordingsPresent } from './open-recordings';
import { plainDetector } from './plain-marks';

/**
 * Sensitivity and positive predictive value on whole open recordings, match window 150 ms (ANSI/AAMI EC57 beat by
 * beat, no learning period), and F1 with electrode-motion noise, simulated and measured; beside a plain band-pass with peak finding.
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

function noisyRow(label: string, mixed: (recording: OpenRecording) => readonly Int16Array[]): void {
  const ours = { tp: 0, fn: 0, fp: 0 };
  const plain = { tp: 0, fn: 0, fp: 0 };
  for (const recording of ['119', '100'].map(openRecording)) {
    const { beats, samplingRateHz } = recording;
    for (const noisy of mixed(recording)) {
      add(ours, countBeats(beats, detectBeats(noisy, samplingRateHz).samples, samplingRateHz));
      add(plain, countBeats(beats, plainDetector(noisy, samplingRateHz), samplingRateHz));
    }
  }
  row(label, ours, plain);
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
  console.log('with electrode-motion noise, simulated and measured, records 100 and 119:');
  for (const snrDb of ratiosDb) {
    noisyRow(`${snrDb} dB`, ({ words, beats, samplingRateHz, name }) => [
      withElectrodeMotion(words, beats, samplingRateHz, snrDb, name === '119' ? 1 : 2),
    ]);
    if (!noisePresent) continue;
    // The noise was measured once; both halves of it.
    noisyRow(`${snrDb} dB, measured`, recording =>
      noiseHalves.map(half => mixture(recording, snrDb, half, 1).leads[0]!),
    );
  }
  keepAccuracy({ detector: rows });
}

if (openRecordingsPresent) run();
else console.log('not run: open recordings absent');
