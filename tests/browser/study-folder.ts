import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Recording } from '../../src/core/recording/recording';
import { recordHeart } from '../../src/core/simulate/ecg';
import { restingVariability, simulateHeart } from '../../src/core/simulate/rhythm';
import { plainShape } from '../../src/core/simulate/waveform';
import { span } from '../../src/core/units';
import { arraySamples } from '../../src/formats/bytes/memory-sink';
import { signalCsvBlocks } from '../../src/formats/csv/signal';
import { edfBytes } from '../../src/formats/edf/writer';
import { marksText } from '../../src/formats/text/marks-writer';
import { segmentsText } from '../../src/formats/text/segments';
import { plainEdfBlocks } from '../bench/plain-edf';

/** Minutes of one volunteer by one recorder, as the project's own writers put them on disk. */
const seconds = 90;
const folderVolunteers = ['V01', 'V02', 'V03'];

function recorded(volunteer: string, recorder: string, rateHz: number, startSeconds: number) {
  const effort = [{ atSeconds: 0, heartRateBpm: 75, breathsPerMinute: 15, settlingSeconds: 30 }];
  const rhythm = { durationSeconds: seconds + 10, effort, variability: restingVariability, ventricularPerMinute: 0 };
  const heart = simulateHeart(rhythm, `folder ${volunteer}`);
  const ecg = recordHeart(
    heart,
    plainShape,
    {
      samplingRateHz: rateHz,
      durationSeconds: seconds,
      leads: [{ name: 'A', angleDegrees: 40 }],
      mvPerUnit: 0.005,
      fullScaleMv: 5,
      mainsHz: 50,
      floorMv: 0.01,
      startSeconds,
      driftPpm: 20,
      noise: [],
    },
    `${volunteer} ${recorder}`,
  );
  const { sampleCount } = ecg;
  const shape = { format: 'int16' as const, mvPerUnit: 0.005, offset: 0, fileUnit: 'mV' };
  const recording: Recording = {
    id: recorder,
    recorder,
    samplingRateHz: rateHz,
    sampleCount,
    startedAt: '2026-09-12T09:00:00',
    leads: [{ name: 'A', samplingRateHz: rateHz, sampleCount, ...shape }],
    gaps: [],
    source: 'simulated',
  };
  return { recording, leads: ecg.leads.map(arraySamples), beats: ecg.beats };
}

async function text(blocks: AsyncIterable<string>): Promise<string> {
  let out = '';
  for await (const block of blocks) out += block;
  return out;
}

/** `V01_chest-band.edf`, its beats, `V01_adhesive-logger.csv`, its beats, `V01_segments.csv`; V03 has no segments. */
export async function writeStudyFolder(folder: string, volunteers = folderVolunteers): Promise<void> {
  mkdirSync(folder, { recursive: true });
  const put = (name: string, bytes: string | Uint8Array) => writeFileSync(join(folder, name), bytes);
  for (const volunteer of volunteers) {
    const band = recorded(volunteer, 'chest-band', 130, 2);
    put(`${volunteer}_chest-band.edf`, await edfBytes({ ...band, annotations: [], participant: volunteer }));
    put(`${volunteer}_chest-band_beats.csv`, marksText(band.beats, 130));
    const logger = recorded(volunteer, 'adhesive-logger', 250, 0);
    put(`${volunteer}_adhesive-logger.csv`, await text(signalCsvBlocks(logger.recording, logger.leads)));
    put(`${volunteer}_adhesive-logger_beats.csv`, marksText(logger.beats, 250, 's'));
    if (volunteer === 'V03') continue;
    const segments = [
      { name: 'radio watch', ...span(0, 40) },
      { name: 'sled haul', ...span(45, 90) },
    ];
    put(`${volunteer}_segments.csv`, segmentsText(segments, 1, 's'));
  }
}

/** An EDF that takes long: hours without marks, so that the built-in detector has to look through them. */
export function writeLongFile(path: string): void {
  writeFileSync(path, Buffer.concat([...plainEdfBlocks({ leads: 1, samplingRateHz: 250, seconds: 6 * 3600 })]));
}
