import { expect, test } from 'vitest';
import { detectBeats } from '../../../../../src/core/detector/detect';
import { signalFeatures } from '../../../../../src/core/detector/suspicion/features';
import { startReview } from '../../../../../src/core/marks/edit';
import { marksFrom } from '../../../../../src/core/marks/markset';
import { createRanking, leadAnalysis } from '../../../../../src/core/review/places/ranking';
import type { SessionRecording } from '../../../../../src/core/review/session';
import { span } from '../../../../../src/core/units';
import { regularBeats } from '../../detector/pulses';

const hz = 250;
const { words, beats } = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds: 120 });
const missing = beats[50]!;
const detected = marksFrom([...beats].filter(b => b !== missing));
const item = { recording: { samplingRateHz: hz, gaps: [] }, detected } as unknown as SessionRecording;

test('an analysis that came as a message ranks as the one it was made from, edit after edit', () => {
  const made = leadAnalysis(detectBeats(words, hz), signalFeatures(words, hz), detected, []);
  const sent = structuredClone(made);
  // What both tables share is sent once.
  expect(sent.table.folded.features).toBe(sent.table.input.features);
  const here = createRanking(made, item);
  const there = createRanking(sent, item);
  const begun = startReview(detected);
  const corrected = { ...begun, marks: beats };
  const hidden = { ...corrected, unreadable: [span(beats[20]! - 50, beats[30]!)] };
  for (const review of [begun, corrected, hidden, begun]) expect(there(review)).toEqual(here(review));
  expect(there(begun)[0]).toMatchObject({ mark: null, leads: [missing] });
  expect(there(corrected)).toEqual([]);
});
