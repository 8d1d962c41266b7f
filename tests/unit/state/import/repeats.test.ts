import { expect, test } from 'vitest';
import { sameSignals } from '../../../../src/state/import/repeats';
import { lead, recordingWith } from '../../formats/edf/fixtures';

const read = (recorder: string, signalSha256: string) => ({
  opened: {
    recording: { ...recordingWith([lead('ECG', 250, 1000)]), recorder },
    marks: null,
    marksBy: '',
    segments: [],
    understood: [],
    warnings: [],
    dropped: [],
    patient: null,
  },
  lead: { index: 0, why: '', sure: true, signalSha256 },
});

test('one signal under two names is pointed out, whether stored or among the files; flat ones are not', () => {
  const stored = [
    { id: 'a', title: 'V01, training', participant: 'V01', signals: ['aa'] },
    { id: 'b', title: 'before checksums', participant: 'V02' },
  ];
  expect(sameSignals([read('chest band', 'aa'), read('logger', 'bb')], stored)).toEqual([
    'The signal of chest band is stored already: V01, training (V01).',
  ]);
  expect(sameSignals([read('chest band', 'cc'), read('logger', 'cc')], stored)).toEqual([
    'chest band and logger have the same signal.',
  ]);
  expect(sameSignals([read('chest band', ''), read('logger', '')], [])).toEqual([]);
});
