import { describe, expect, test } from 'vitest';
import { chooseEcgLead, judgedStretch, type LeadStretch } from '../../../../src/core/detector/choose-lead';
import { span } from '../../../../src/core/units';
import { randomFrom } from '../../../fuzz/mutate';

const hz = 250;
const count = 40 * hz;
const random = randomFrom(5);
const noise = () => random() + random() + random() - 1.5;

/** Beats about every 0.8 s: a steep spike of 1000 and a round wave behind it. */
function ecg(first = 100): Int16Array {
  const words = Int16Array.from({ length: count }, () => Math.round(20 * noise()));
  for (let b = first, n = 0; b < count - 200; b += 200 + Math.round(12 * Math.sin(n++))) {
    for (let k = -8; k <= 8; k++) words[b + k]! += Math.round(1000 * Math.exp(-(k * k) / 8));
    for (let k = 40; k <= 110; k++) words[b + k]! += Math.round(200 * Math.exp(-((k - 75) ** 2) / 300));
  }
  return words;
}

/** Slow noise, as of an EEG. */
function eeg(): Int16Array {
  let slow = 0;
  return Int16Array.from({ length: count }, () => {
    slow = 0.9 * slow + 30 * noise();
    return Math.round(slow);
  });
}

const lead = (name: string, words: Int16Array, fileUnit = 'uV'): LeadStretch => ({
  name,
  words,
  fileUnit,
  samplingRateHz: hz,
});
const counter = Int16Array.from({ length: count }, (_, i) => i);
const breath = Int16Array.from({ length: count }, (_, i) => Math.round(900 * Math.sin(i / 160)));

// source: what each lead was made of; common practice for how leads are called
describe('the lead most like an ECG', () => {
  test.each<[string, LeadStretch[], number]>([
    ['by its shape, where names say nothing', [lead('A', eeg()), lead('B', ecg())], 1],
    ['behind EEG channels', [lead('EEG Fp1-A2', eeg()), lead('C3-A2', eeg()), lead('ECG', ecg())], 2],
    ['not a row counter in front', [lead('', counter, ''), lead('', ecg(), '')], 1],
    ['not a breathing belt', [lead('Thor', breath, ''), lead('column 2', ecg(), '')], 1],
    [
      'not one that only calls itself a channel with more noise',
      [lead('ch1', eeg()), lead('ch2', breath), lead('ch3', ecg())],
      2,
    ],
    ['the first of several leads of one ECG', [lead('I', ecg()), lead('II', ecg())], 0],
    ['the first of several leads with the same beats', [lead('EEG', eeg()), lead('A', ecg()), lead('B', ecg())], 1],
  ])('%s', (_what, leads, index) => {
    const chosen = chooseEcgLead(leads);
    expect(chosen).toMatchObject({ index, sure: true });
    expect(chosen.why).not.toBe('');
  });

  test('is doubtful where two are alike, or none looks like one', () => {
    expect(chooseEcgLead([lead('A', ecg()), lead('B', ecg(190))]).sure).toBe(false);
    expect(chooseEcgLead([lead('A', eeg()), lead('B', breath)]).sure).toBe(false);
    expect(chooseEcgLead([lead('A', eeg())]).sure).toBe(true);
  });

  test('is looked for in the middle of the longest stretch without a gap', () => {
    const recording = { samplingRateHz: 100, sampleCount: 60_000, gaps: [span(1000, 2000), span(30_000, 31_000)] };
    expect(judgedStretch(recording, { samplingRateHz: 200 })).toEqual([87_000, 95_000]);
    expect(judgedStretch({ ...recording, sampleCount: 1000, gaps: [] }, { samplingRateHz: 100 })).toEqual([0, 1000]);
  });
});
