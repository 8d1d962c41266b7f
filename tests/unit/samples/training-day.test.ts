import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { type EditLog, replay, verifyChain } from '../../../src/core/marks/log';
import { BeatOutcome, match, outside } from '../../../src/core/marks/match';
import { union } from '../../../src/core/marks/spans';
import { detectedOf } from '../../../src/core/review/session';
import { type RecordingScore, scoreRecording } from '../../../src/core/score/score';
import { recorders } from '../../../src/samples/activities';
import { finishedReview, halfReview } from '../../../src/samples/review';
import { drawSlips } from '../../../src/samples/slips';
import { type TrainingDay, trainingDay } from '../../../src/samples/training-day';
import type { Character } from '../../bench/noise-character';
import { movingCharacter } from '../../bench/sample-noise';

const day = trainingDay('V03');
const { measured } = JSON.parse(
  readFileSync(join(import.meta.dirname, '../../bench/noise-character.json'), 'utf8'),
) as Record<'measured', Character>;

function reviewOf(of: TrainingDay, log: EditLog, id: string) {
  expect(verifyChain(log)).toEqual({ ok: true });
  return replay(log, detectedOf(of.session)).recordings.get(id)!;
}

function score(of: TrainingDay, log: EditLog, index: number): RecordingScore {
  const { recording, detected, segments } = of.recordings[index]!.session;
  const review = reviewOf(of, log, recording.id);
  return scoreRecording({
    beats: review.marks,
    marks: detected,
    unreadable: review.unreadable,
    gaps: recording.gaps,
    segments,
    samplingRateHz: recording.samplingRateHz,
    settings: of.session.settings,
  });
}

describe('training day', () => {
  test('has five five-minute activities on both recorders, within each clock', () => {
    for (const { session } of day.recordings) {
      expect(session.segments.map(s => s.name)).toEqual([
        'seated radio watch',
        'packing the sled',
        'approach hike',
        'uphill run',
        'sled haul',
      ]);
      for (const s of session.segments) {
        const seconds = (s.end - s.start) / session.recording.samplingRateHz;
        expect(seconds).toBeGreaterThan(299.9);
        expect(seconds).toBeLessThan(300.1);
        expect(s.end).toBeLessThan(session.recording.sampleCount);
      }
    }
  });

  test('a finished review ends at the truth and brings out the planted numbers in every segment', () => {
    const log = finishedReview(day, 'R1', '2026-09-14T07:00:00Z', 'test', []);
    for (const [i, { session, truth }] of day.recordings.entries()) {
      const review = reviewOf(day, log, session.recording.id);
      const excluded = union(review.unreadable, session.recording.gaps);
      expect(review.unreadable).toEqual(truth.unreadable);
      expect(outside(review.marks, excluded)).toEqual(outside(truth.ecg.beats, excluded));
      const scored = score(day, log, i);
      for (const part of scored.segments) {
        const inside = truth.plant.planted.filter(p => {
          const at = p.beat ?? p.mark!;
          return at >= part.segment.start && at < part.segment.end;
        });
        const count = (...kinds: string[]) => inside.filter(p => kinds.includes(p.kind)).length;
        expect(part.counts).toMatchObject({
          missed: count('missed'),
          wrongPeak: count('wrongPeak', 'shifted'),
          extra: count('extra'),
        });
      }
      const nudged = truth.plant.jittered.filter(j => session.segments.some(s => j.beat >= s.start && j.beat < s.end));
      expect(scored.total.counts.refined).toBe(nudged.length);
    }
  });

  test('the second rater differs in exactly the drawn slips', () => {
    const slips = drawSlips(day, 'test');
    const first = finishedReview(day, 'R1', '2026-09-14T07:00:00Z', 'test', []);
    const second = finishedReview(day, 'R2', '2026-09-15T07:00:00Z', 'test', slips);
    for (const { session } of day.recordings) {
      const { id, samplingRateHz } = session.recording;
      const [a, b] = [reviewOf(day, first, id), reviewOf(day, second, id)];
      const result = match(a.marks, b.marks, union(a.unreadable, b.unreadable), samplingRateHz);
      const own = slips.filter(s => s.recording === id);
      const count = (...kinds: string[]) => own.filter(s => kinds.includes(s.kind)).length;
      expect(own.length).toBeGreaterThanOrEqual(7);
      expect([...result.outcome].filter(o => o === BeatOutcome.missed).length).toBe(count('missed left'));
      expect([...result.outcome].filter(o => o === BeatOutcome.wrongPeak).length).toBe(count('wrong peak left'));
      expect([...result.beatOfMark].filter(k => k === -1).length).toBe(count('extra left', 'stray mark'));
      const wider = own.filter(s => s.kind === 'span wider');
      expect(b.unreadable.filter(s => !a.unreadable.some(x => x.end === s.end && x.start === s.start)).length).toBe(
        wider.length,
      );
    }
  });

  // source: figures of the MIT-BIH Noise Stress Test Database (tests/bench/noise-character.json)
  test.each(recorders)('noise of the %s in movement has the character of measured noise', recorder => {
    const { octavesDb, kurtosis, bursts } = movingCharacter(day.recordings, recorder);
    expect(octavesDb.length).toBe(recorder === 'chest band' ? 7 : 8);
    for (const [k, db] of octavesDb.entries()) expect(Math.abs(db - measured.octavesDb[k]!)).toBeLessThan(2.5);
    for (const [k, v] of kurtosis.entries()) expect(v / measured.kurtosis[k]!).toBeGreaterThan(1 / 1.7);
    for (const [k, own] of bursts.entries()) {
      expect(Math.abs(own.spread - measured.bursts[k]!.spread)).toBeLessThan(0.2);
      expect(own.perMinute / measured.bursts[k]!.perMinute).toBeGreaterThan(0.7);
      expect(own.perMinute / measured.bursts[k]!.perMinute).toBeLessThan(1.3);
    }
  });

  test('recorders lose little at rest and more in hard movement', () => {
    // source: at rest about 0.3 % of intervals or fewer, in hard movement some recorders 5 to 15 % (common practice)
    const log = finishedReview(day, 'R1', '2026-09-14T07:00:00Z', 'test', []);
    for (const i of [0, 1]) {
      const lost = score(day, log, i).segments.map(({ counts: c }) => 1 - c.right / (c.judged + c.lost!));
      expect(lost[0]!).toBeLessThan(0.012);
      expect(Math.max(lost[3]!, lost[4]!)).toBeGreaterThan(0.05);
      expect(Math.max(lost[3]!, lost[4]!)).toBeLessThan(0.17);
    }
  });

  test('the half-done review is real work in progress', () => {
    const log = halfReview(day, 'R1', '2026-09-14T07:00:00Z', 'test');
    const intents = new Set(log.entries.map(e => e.intent));
    for (const wanted of ['look', 'accept', 'move', 'delete', 'insert', 'unreadable', 'comment', 'flag', 'sign off'])
      expect(intents).toContain(wanted);
    expect(replay(log, detectedOf(day.session)).finished).toBe(false);
    const review = reviewOf(day, log, 'chest-band');
    expect(review.signOffs.map(s => s.segment).sort()).toEqual(['packing the sled', 'seated radio watch']);
    expect(reviewOf(day, log, 'adhesive-logger').seen).toEqual([]);
  });
});
