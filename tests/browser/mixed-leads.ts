import { randomFrom } from '../../src/core/random';
import type { Lead, Recording } from '../../src/core/recording/recording';
import { arraySamples } from '../../src/formats/bytes/memory-sink';
import type { EdfAnnotation } from '../../src/formats/edf/annotations';
import { edfBytes } from '../../src/formats/edf/writer';
import { fiveMinutes } from './five-minutes';

/** Five minutes of EDF+ as a sleep laboratory writes them: EEG at 500 Hz in front, the ECG at 250 Hz behind it. */
export async function mixedEdf(annotations: readonly EdfAnnotation[] = []) {
  const { ecg } = fiveMinutes();
  const random = randomFrom('slow noise of an EEG');
  let slow = 0;
  const eeg = Int16Array.from({ length: 2 * ecg.sampleCount }, () => {
    slow = 0.9 * slow + 17 * random.normal();
    return Math.round(slow);
  });
  const lead = (name: string, samplingRateHz: number, sampleCount: number): Lead => {
    return { name, samplingRateHz, sampleCount, format: 'int16', mvPerUnit: 0.005, offset: 0, fileUnit: 'mV' };
  };
  const recording: Recording = {
    id: 'mixed',
    recorder: 'bedside box',
    samplingRateHz: 500,
    sampleCount: eeg.length,
    startedAt: '2026-09-12T22:00:00',
    leads: [lead('EEG C3-A2', 500, eeg.length), lead('EKG', 250, ecg.sampleCount)],
    gaps: [],
    source: 'simulated',
  };
  const leads = [eeg, ecg.leads[0]!].map(arraySamples);
  const buffer = Buffer.from(await edfBytes({ recording, leads, annotations, participant: 'V01' }));
  return { file: { name: 'mixed.edf', mimeType: '', buffer }, ecg };
}
