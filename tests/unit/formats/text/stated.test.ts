import { expect, test } from 'vitest';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { previewText } from '../../../../src/formats/text/layout';
import { bytesOf } from './fixtures';

test.each([
  ['fs;250', 250, []],
  ['Sampling frequency (Hz),500', 500, []],
  ['Sampling rate: 0.25 kHz', 250, []],
  ['Sampling rate: 250,0 Hz', 250, []],
  ['Sampling rate: 1,000 Hz', 1000, []],
  ['Sampling rate of file 2: 250 Hz', null, ['Nothing says the sampling rate: it must be given.']],
  ['Sample rate,lead 1', null, ['Nothing says the sampling rate: it must be given.']],
  ['fs;ECG1', null, ['Nothing says the sampling rate: it must be given.']],
  ['fs (kHz): 0.25', 250, []],
  ['Fs = 250 Hz', 250, []],
  ['"fs": 250', 250, []],
  ['sample_rate_hz=250', 250, []],
  ['Abtastrate: 250 Hz', 250, []],
  ['Device: FS 2000', null, ['Nothing says the sampling rate: it must be given.']],
  ['Device: FS-2000', null, ['Nothing says the sampling rate: it must be given.']],
  ['Device: FS 2000\nfs: 250', 250, []],
  ['Device: FS 2000 (250 Hz)', 250, ['"Device: FS 2000 (250 Hz)" is taken for a sampling rate of 250 Hz.']],
  ['# fs 250', 250, ['"# fs 250" is taken for a sampling rate of 250 Hz.']],
  ['250 Hz', 250, ['"250 Hz" is taken for a sampling rate of 250 Hz.']],
  ['Sampled at 250 Hz, 16 bit', 250, ['"Sampled at 250 Hz, 16 bit" is taken for a sampling rate of 250 Hz.']],
  ['Low-pass (100 Hz)', null, ['Nothing says the sampling rate: it must be given.']],
  ['Power (50 Hz)', null, ['Nothing says the sampling rate: it must be given.']],
  ['Range 0.05 to 100 Hz', null, ['Nothing says the sampling rate: it must be given.']],
  [
    'PPG (100 Hz); ECG (250 Hz)',
    null,
    ['The file states several sampling rates, 100 and 250 Hz, and not which is the ECG’s: it must be given.'],
  ],
  ['Acceleration: sampling rate 25 Hz\nECG: sampling rate 250 Hz', 250, []],
  [
    'Lead 1: sampling rate 250 Hz\nLead 2: sampling rate 500 Hz',
    null,
    ['The file states several sampling rates, 250 and 500 Hz, and not which is the ECG’s: it must be given.'],
  ],
])('a rate in words above the rows: %s', async (above, rate, doubts) => {
  const text = `${above}\n\nECG (mV)\n${'0.1\n0.2\n'.repeat(20)}`;
  const layout = await previewText(bytesSource('x', bytesOf(text)));
  expect([layout.samplingRateHz, layout.doubts]).toEqual([rate, doubts]);
});
