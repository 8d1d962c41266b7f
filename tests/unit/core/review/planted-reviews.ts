import fc from 'fast-check';
import { startReview } from '../../../../src/core/marks/edit';
import { marksFrom } from '../../../../src/core/marks/markset';
import { normalise } from '../../../../src/core/marks/spans';
import type { SessionRecording } from '../../../../src/core/review/session';
import { span } from '../../../../src/core/units';
import { recordingWith } from './sample-session';

/** 21 beats a second apart at 100 Hz, from 0.5 s: ten in `rest`, eleven in `uphill run`. */
export const beats = Array.from({ length: 21 }, (_, i) => 50 + 100 * i);
export const item = recordingWith({
  detected: beats,
  sampleCount: 2100,
  segments: [
    ['rest', 0, 1000],
    ['uphill run', 1000, 2100],
  ],
});

export interface Given {
  readonly without?: readonly number[];
  readonly with?: readonly number[];
  readonly unreadable?: readonly [number, number][];
}

export function review(given: Given, on: SessionRecording = item) {
  const kept = [...on.detected].filter(m => !given.without?.includes(m));
  return {
    ...startReview(marksFrom([...kept, ...(given.with ?? [])])),
    unreadable: (given.unreadable ?? []).map(([a, b]) => span(a, b)),
    // Looked at in full: a part of a review has numbers of that part alone.
    seen: [span(0, on.recording.sampleCount)],
    accepted: [span(0, on.recording.sampleCount)],
  };
}

/** Any subset of the detected marks, any others, any unreadable spans. */
export const anyReview: fc.Arbitrary<Given> = fc.record({
  without: fc.subarray(beats),
  with: fc.uniqueArray(
    fc.integer({ min: 0, max: 2099 }).filter(m => !beats.includes(m)),
    { maxLength: 12 },
  ),
  unreadable: fc
    .array(fc.tuple(fc.integer({ min: 0, max: 2000 }), fc.integer({ min: 1, max: 400 })), { maxLength: 3 })
    .map(list =>
      normalise(list.map(([a, n]) => span(a, Math.min(2100, a + n)))).map(s => [s.start, s.end] as [number, number]),
    ),
});
