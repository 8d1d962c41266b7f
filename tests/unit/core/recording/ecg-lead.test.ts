import { expect, test } from 'vitest';
import { ecgLeadOf, onLead, sameLead } from '../../../../src/core/recording/ecg-lead';
import type { Recording } from '../../../../src/core/recording/recording';
import { span } from '../../../../src/core/units';
import { lead, recordingWith } from '../../formats/edf/fixtures';

const mixed: Recording = {
  ...recordingWith([lead('EEG', 512, 51_200), lead('ECG', 256, 25_600)]),
  samplingRateHz: 512,
  sampleCount: 51_200,
  gaps: [span(1024, 2048)],
};

test('without a choice it is the first lead at the rate of the marks, as in sessions stored before there was one', () => {
  expect(ecgLeadOf(mixed)).toBe(0);
  expect(ecgLeadOf({ ...mixed, samplingRateHz: 256 })).toBe(1);
  expect(ecgLeadOf({ ...mixed, ecgLead: 7 })).toBe(0);
});

test('a recording on its ECG lead counts at that lead’s rate', () => {
  expect(onLead(mixed, 1)).toMatchObject({
    ecgLead: 1,
    samplingRateHz: 256,
    sampleCount: 25_600,
    gaps: [{ start: 512, end: 1024 }],
  });
  expect(onLead(mixed, 0)).toEqual({ ...mixed, ecgLead: 0 });
});

test('two recorders side by side each show the lead under review, or the one of the number asked for', () => {
  const one = { ...mixed, ecgLead: 1 };
  const other = { ...mixed, leads: [lead('ECG', 250, 10), lead('Thor', 250, 10)], samplingRateHz: 250 };
  expect(sameLead(1, one, other)).toBe(0);
  expect(sameLead(0, one, { ...other, ecgLead: 1 })).toBe(0);
  expect(sameLead(5, one, other)).toBe(0);
});
