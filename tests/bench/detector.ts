import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createDetector } from '../../src/core/detector/detect';
import { longRecording } from './long-recording';
import { type Bench, type Figure, mediansInTurn } from './measure';

const rateHz = 1000;
const python = '/usr/bin/python3';

/** Band-pass 5 to 15 Hz and peak finding with SciPy on the same words, read beforehand; prints the seconds it took. */
const scipyScript = `
import sys, time
import numpy as np
from scipy.signal import butter, sosfilt, find_peaks
words = np.fromfile(sys.argv[1], dtype='<i2')
sos = butter(2, [5, 15], btype='bandpass', fs=${rateHz}, output='sos')
before = time.perf_counter()
energy = sosfilt(sos, words.astype(np.float32)) ** 2
find_peaks(energy, distance=${rateHz / 4}, height=energy.mean())
print(time.perf_counter() - before)
`;

export const detectorBench: Bench = {
  name: 'detector',
  says: 'finding the beats of one lead at 1000 Hz, against one pass that sums the same samples, and against SciPy',
  async run() {
    const figures: Figure[] = [];
    let total = 0;
    for (const hours of [1, 6, 24]) {
      const { recording, leads } = longRecording(hours, rateHz, 1);
      const words = leads[0]!.read(0, recording.sampleCount) as Int16Array;
      const [summing, detecting] = mediansInTurn(3, [() => (total += sum(words)), () => detect(words)]) as [
        number,
        number,
      ];
      // Shorter ones are mostly run before the engine has compiled the detector.
      figures.push({ of: `${hours} h`, value: detecting / summing, unit: 'x', limit: hours === 24 ? 8 : null });
      figures.push({ of: `${hours} h, time`, value: detecting, unit: 'ms', limit: null });
      const scipyMs = hours === 6 ? timeOfScipy(words) : null;
      if (scipyMs !== null)
        figures.push({ of: `${hours} h, times faster than SciPy`, value: scipyMs / detecting, unit: 'x', limit: null });
      else if (hours === 6) console.log('  not run: SciPy absent');
    }
    if (Number.isNaN(total)) throw new Error('the sum was not computed');
    return figures;
  },
};

function sum(words: Int16Array): number {
  let total = 0;
  for (let i = 0; i < words.length; i++) total += words[i]!;
  return total;
}

/** Pushed in blocks of the size that the import uses. */
function detect(words: Int16Array): void {
  const detector = createDetector(rateHz);
  for (let at = 0; at < words.length; at += 262_144) detector.push(words.subarray(at, at + 262_144));
  if (detector.finish().samples.length === 0) throw new Error('no beats were found');
}

function timeOfScipy(words: Int16Array): number | null {
  if (!existsSync(python)) return null;
  const folder = mkdtempSync(join(tmpdir(), 'detector-bench-'));
  try {
    const path = join(folder, 'words.i16');
    writeFileSync(path, new Uint8Array(words.buffer, words.byteOffset, words.byteLength));
    const { status, stdout } = spawnSync(python, ['-c', scipyScript, path], { encoding: 'utf8' });
    return status === 0 ? Number(stdout) * 1000 : null;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
