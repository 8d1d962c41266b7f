import { marksFrom } from '../../src/core/marks/markset';
import { piecesOf, readAcross } from '../../src/core/recording/pieces';
import type { LeadSamples } from '../../src/core/recording/recording';
import { span } from '../../src/core/units';
import { edfBytes } from '../../src/formats/edf/writer';
import { regularBeats } from '../unit/core/detector/pulses';

/** An EDF+D file of `pieces` strips of `pieceSeconds` each, spread evenly over `days`; nothing was recorded in between. */
export async function mostlyGap(days: number, pieces: number, pieceSeconds: number, samplingRateHz = 250) {
  const strip = regularBeats({ samplingRateHz, rrS: 0.8, seconds: pieceSeconds });
  const length = strip.words.length;
  const step = Math.round(((days * 86_400 - pieceSeconds) / (pieces - 1)) * samplingRateHz);
  const starts = Array.from({ length: pieces }, (_, i) => i * step);
  const gaps = starts.slice(1).map((start, i) => span(starts[i]! + length, start));
  const lead = {
    name: 'ECG',
    samplingRateHz,
    sampleCount: starts.at(-1)! + length,
    unrecorded: gaps,
    format: 'int16',
    mvPerUnit: 0.005,
    offset: 0,
    fileUnit: 'mV',
  } as const;
  const words = Int16Array.from({ length: length * pieces }, (_, i) => strip.words[i % length]!);
  const timeLine = piecesOf(lead);
  const samples: LeadSamples = {
    sampleCount: lead.sampleCount,
    read: (start, end) => readAcross(timeLine, start, end, 0, (a, b) => words.subarray(a, b)),
  };
  const recording = {
    id: 'event-recorder',
    recorder: 'adhesive logger',
    samplingRateHz,
    sampleCount: lead.sampleCount,
    startedAt: '2026-03-14T08:30:00',
    leads: [lead],
    gaps,
    source: 'made',
  };
  const bytes = await edfBytes({ recording, leads: [samples], annotations: [], participant: 'V07' });
  const beats = marksFrom(starts.flatMap(start => Array.from(strip.beats, b => start + b)));
  return { bytes, beats, recording, words };
}
