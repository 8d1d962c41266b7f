import { beforeAll, expect, test, vi } from 'vitest';
import type { Recording } from '../../../src/core/recording/recording';
import type { SecondBeats } from '../../../src/core/report/second-detector';
import type { ReviewedSession } from '../../../src/core/review/session';
import { createSignalWriter } from '../../../src/storage/signal-writer';
import { openSignalFiles } from '../../../src/storage/signals';
import { openStoreOrMemory } from '../../../src/storage/without-disk';
import { secondOf } from '../../../src/workers/second-beats';
import { beatTrain } from '../core/detector/pulses';

const hz = 100;
const seconds = 120;
const recording: Recording = {
  id: 'chest-band',
  recorder: 'chest band',
  samplingRateHz: hz,
  sampleCount: seconds * hz,
  startedAt: null,
  leads: [
    {
      name: 'ECG',
      samplingRateHz: hz,
      sampleCount: seconds * hz,
      format: 'int16',
      mvPerUnit: 0.005,
      offset: 0,
      fileUnit: 'mV',
    },
  ],
  gaps: [],
  source: 'V01.csv',
};
const session = { id: 'V01-hill', recordings: [{ recording }] } as unknown as ReviewedSession['session'];
const found: ReviewedSession[] = [{ session, logs: [] }];

/** A beat every 0.8 s for a minute in the middle of the two, and after as many seconds as is said in the rest. */
async function store(restRrS: number): Promise<void> {
  const every = (from: number, to: number, rrS: number) =>
    Array.from({ length: Math.floor((to - from) / rrS) }, (_, i) => from + i * rrS);
  const times = [...every(1, 30, restRrS), ...every(30, 90, 0.8), ...every(90, 119, restRrS)];
  const { words } = beatTrain(times, { samplingRateHz: hz, seconds });
  const writer = await createSignalWriter(await openSignalFiles(), { session: session.id, recording: recording.id });
  await writer.write(
    0,
    words.map((w, i) => w + (i % 3 === 0 ? 1 : 0)),
  );
  await writer.finish();
}

async function beats(): Promise<SecondBeats> {
  const control = { signal: new AbortController().signal, progress: () => undefined };
  return (await secondOf(found, control))[session.id]![recording.id] as SecondBeats;
}

beforeAll(async () => {
  vi.stubGlobal('navigator', {});
  await openStoreOrMemory();
});

// source: definition
test('the same signal is looked at once, and one that differs far from its middle is looked at', async () => {
  await store(0.8);
  const all = await beats();
  expect(all.samples.length).toBeGreaterThan(140);
  // The very same object: nobody looked for it anew.
  expect(await beats()).toBe(all);
  await store(1.2);
  const fewer = await beats();
  expect(fewer.samples.length).toBeLessThan(130);
  expect(await beats()).toBe(fewer);
});
