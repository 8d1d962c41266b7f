import type { RecordingReview } from '../../../../src/core/marks/edit';
import { startReview } from '../../../../src/core/marks/edit';
import { marksFrom } from '../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import type { Editing } from '../../../../src/core/review/edits';
import type { Session, SessionRecording } from '../../../../src/core/review/session';
import { span } from '../../../../src/core/units';

/** An invented recording at 100 Hz: the sample index is the time in hundredths of a second. */
export function recordingWith(given: {
  detected: Iterable<number>;
  sampleCount?: number;
  segments?: readonly [string, number, number][];
  gaps?: readonly [number, number][];
  id?: string;
}): SessionRecording {
  return {
    recording: {
      id: given.id ?? 'chest-band',
      recorder: 'chest band',
      samplingRateHz: 100,
      sampleCount: given.sampleCount ?? 1000,
      startedAt: '2026-02-14T09:00:00',
      leads: [],
      gaps: (given.gaps ?? []).map(([a, b]) => span(a, b)),
      source: 'made for this test',
    },
    detected: marksFrom(given.detected),
    detectedBy: 'the recorder',
    segments: (given.segments ?? []).map(([name, a, b]) => ({ name, ...span(a, b) })),
  };
}

export function sessionWith(...recordings: SessionRecording[]): Session {
  return {
    id: 'training-day-v01',
    title: 'Training day',
    participant: 'V01',
    recordings,
    settings: defaultMatchSettings,
  };
}

export function editing(item: SessionRecording, part: Partial<RecordingReview> = {}, finished = false): Editing {
  return { item, review: { ...startReview(item.detected), ...part }, finished };
}
