import { describe, expect, test } from 'vitest';
import type { NotSinusBeat } from '../../../../../src/core/detector/sinus/not-sinus';
import { apply, type Change, type RecordingReview, startReview } from '../../../../../src/core/marks/edit';
import { marksFrom } from '../../../../../src/core/marks/markset';
import {
  addUnreadable,
  type Built,
  confirmNotSinus,
  confirmRhythm,
  deleteMark,
  type Editing,
  insertMark,
  moveMark,
  removeUnreadable,
  setAsideNotSinus,
} from '../../../../../src/core/review/edits';
import { openProposals } from '../../../../../src/core/review/places/not-sinus';
import type { SessionRecording } from '../../../../../src/core/review/session';
import { type SampleIndex, sampleIndex, span } from '../../../../../src/core/units';

const at = (...samples: number[]) => samples.map(sampleIndex);
const detected = marksFrom([100, 300, 500, 700]);
const item = {
  recording: { id: 'a', sampleCount: 1000, samplingRateHz: 100, gaps: [], leads: [] },
  detected,
  segments: [{ name: 'rest', ...span(0, 400) }],
} as unknown as SessionRecording;

function editing(review: RecordingReview, finished = false): Editing {
  return { item, review, finished };
}

function changed(review: RecordingReview, built: Built): RecordingReview {
  expect(built).not.toBeNull();
  return apply(review, built as Change);
}

const beats: NotSinusBeat[] = at(100, 300, 500, 900).map(place => ({
  at: place,
  reason: 'early',
  kind: 'early',
  sentence: '20 % early, then a pause',
}));
const places = (review: RecordingReview) => openProposals(beats, review).map(b => b.at as number);

describe('beats proposed as not sinus', () => {
  const start = startReview(detected);

  test('are open until marked, set aside, unreadable, or without a mark', () => {
    expect(places(start)).toEqual([100, 300, 500]);
    const marked = changed(start, confirmNotSinus(editing(start), at(100), 'test'));
    expect(places(marked)).toEqual([300, 500]);
    const aside = changed(marked, setAsideNotSinus(editing(marked), at(300)));
    expect(places(aside)).toEqual([500]);
    expect(places({ ...aside, unreadable: [span(450, 550)] })).toEqual([]);
    expect(places({ ...start, dismissals: [{ reason: 'long interval', at: sampleIndex(300) }] })).toEqual([
      100, 300, 500,
    ]);
  });

  test('are marked once, where there is a mark, with what proposed them', () => {
    expect(confirmNotSinus(editing(start), at(300, 900), 'test')).toEqual([
      { op: 'notSinus', removed: [], added: [300], proposedBy: 'test' },
    ]);
    const marked = changed(start, confirmNotSinus(editing(start), at(300), 'test'));
    expect(confirmNotSinus(editing(marked), at(300), 'test')).toBeNull();
    const aside = changed(start, setAsideNotSinus(editing(start), at(300)));
    expect(setAsideNotSinus(editing(aside), at(300))).toBeNull();
  });

  test('are confirmed as a list over the whole recording, once', () => {
    const confirmed = changed(start, confirmRhythm(editing(start), 'test'));
    expect(confirmed.rhythmChecked).toEqual([span(0, 1000)]);
    expect(confirmRhythm(editing(confirmed), 'test')).toBeNull();
  });

  test('are open again around a mark that is moved, inserted or deleted since, and where a stretch became readable', () => {
    const whole = [span(0, 1000)];
    const long = { ...item, recording: { ...item.recording, samplingRateHz: 10 } } as SessionRecording;
    const edited = (build: (e: Editing) => Built, before: RecordingReview = { ...start, rhythmChecked: whole }) =>
      changed(before, build({ item: long, review: before, finished: false })).rhythmChecked;
    expect(edited(e => moveMark(e, sampleIndex(300), sampleIndex(310)))).toEqual([span(0, 270), span(340, 1000)]);
    expect(edited(e => insertMark(e, sampleIndex(400)))).toEqual([span(0, 370), span(430, 1000)]);
    expect(edited(e => deleteMark(e, sampleIndex(100)))).toEqual([span(0, 70), span(130, 1000)]);
    const hidden = { ...start, rhythmChecked: whole, unreadable: [span(200, 260)] };
    expect(edited(e => removeUnreadable(e, span(200, 260)), hidden)).toEqual([span(0, 200), span(260, 1000)]);
    expect(edited(e => addUnreadable(e, span(200, 260)))).toEqual(whole);
  });

  test('are refused in a finished review and in a segment that is signed off', () => {
    const signed = { ...start, signOffs: [{ segment: 'rest', at: '2026-01-01T00:00:00Z', reason: null }] };
    const refused = { refused: expect.any(String) };
    const list: SampleIndex[] = at(300);
    expect(confirmNotSinus(editing(signed), list, 'test')).toEqual(refused);
    expect(setAsideNotSinus(editing(signed), list)).toEqual(refused);
    const finished = editing(start, true);
    expect(confirmNotSinus(finished, list, 'test')).toEqual(refused);
    expect(setAsideNotSinus(finished, list)).toEqual(refused);
    expect(confirmRhythm(finished, 'test')).toEqual(refused);
  });
});
