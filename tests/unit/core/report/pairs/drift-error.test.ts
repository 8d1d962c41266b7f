import { expect, test } from 'vitest';
import type { RecordingReview } from '../../../../../src/core/marks/edit';
import { replaySession } from '../../../../../src/core/report/counted-review';
import { clockOf } from '../../../../../src/core/report/pairs/recorder-pairs';
import { sampleStudy, truthOf } from '../sample-study';

/** The clocks of V01, found from the beats in the first `minutes` of its two recordings. */
async function clocksFrom(minutes: number) {
  const [reviewed] = await sampleStudy();
  const { session, logs } = replaySession(reviewed!);
  const all = logs[0]!.replayed.recordings;
  const recordings = new Map<string, RecordingReview>(
    session.recordings.map(({ recording: { id, samplingRateHz } }) => {
      const review = all.get(id)!;
      return [id, { ...review, marks: review.marks.filter(m => m < 60 * minutes * samplingRateHz) }];
    }),
  );
  const [a, b] = session.recordings;
  return clockOf({ session, recordings }, a!, b!);
}

// source: sample-sessions/truth/V01.json for the drift; the standard error of a slope by least squares
test('the fewer minutes a clock is found from, the less is known of its drift, and this is said', async () => {
  const truth = truthOf('V01').clocks.driftPpm;
  const long = await clocksFrom(60);
  const short = await clocksFrom(4);
  for (const { clock, driftErrorPpm } of [long, short]) {
    // Residuals hang together a little, so the error is rather larger than said.
    expect(Math.abs(clock!.driftPpm - truth)).toBeLessThan(4 * driftErrorPpm!);
  }
  expect(long.endErrorMs).toBeLessThan(5);
  // Four minutes instead of 27 have (27 / 4) ^ 1.5 times the error.
  expect(short.driftErrorPpm! / long.driftErrorPpm!).toBeGreaterThan(8);
  expect(short.endErrorMs! / long.endErrorMs!).toBeGreaterThan(8);
});
