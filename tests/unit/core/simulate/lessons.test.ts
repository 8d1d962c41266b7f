import { describe, expect, test } from 'vitest';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import { scoreRecording } from '../../../../src/core/score/score';
import { type Difficulty, type Lesson, lessonKinds, makeLesson } from '../../../../src/core/simulate/lessons';

const difficulties: readonly Difficulty[] = [1, 2, 3, 4, 5];
const seeds = ['a', 'b'];

const made = new Map<string, Lesson>();

/** Made once for all tests of it: a lesson is two minutes of signal. */
function lessonOf(id: string, seed: string, difficulty: Difficulty): Lesson {
  const key = [id, seed, difficulty].join();
  const lesson = made.get(key) ?? makeLesson(id, seed, difficulty);
  made.set(key, lesson);
  return lesson;
}

/** Every difficulty, with one seed or the other. */
const lessonsOf = (id: string) => difficulties.map((d, i) => lessonOf(id, seeds[i % 2]!, d));

function total(lesson: Lesson) {
  const { key, detected, recording, segments } = lesson;
  const { samplingRateHz } = recording;
  const input = { marks: detected, unreadable: key.unreadable, gaps: [], segments, samplingRateHz };
  return scoreRecording({ ...input, beats: key.beats, settings: defaultMatchSettings }).total.counts;
}

describe.each(lessonKinds.filter(k => !k.sampled).map(k => k.id))('lesson %s', id => {
  test('holds exactly its planted mistakes at every difficulty', () => {
    for (const lesson of lessonsOf(id)) {
      const count = (...kinds: string[]) => lesson.key.planted.filter(p => kinds.includes(p.kind)).length;
      expect(total(lesson)).toMatchObject({
        missed: count('missed'),
        wrongPeak: count('wrongPeak', 'shifted'),
        extra: count('extra'),
        refined: 0,
      });
      const seconds = lesson.recording.sampleCount / lesson.recording.samplingRateHz;
      expect(seconds).toBeGreaterThanOrEqual(120);
      expect(seconds).toBeLessThanOrEqual(180);
    }
  });

  test('the same seed gives the same lesson, another seed another', () => {
    const once = lessonOf(id, 'a', 3);
    expect(makeLesson(id, 'a', 3)).toEqual(once);
    expect(lessonOf(id, 'b', 3).detected).not.toEqual(once.detected);
    expect(lessonOf(id, 'a', 4).detected).not.toEqual(once.detected);
  });

  test('says for every place what gives it away and where to look', () => {
    for (const { key, recording } of lessonsOf(id)) {
      const mistakes = key.places.filter(p => p.kind !== 'ectopic' && p.kind !== 'unreadable');
      expect(mistakes.length).toBe(key.planted.length);
      expect(key.places.filter(p => p.kind === 'unreadable').map(p => p.span)).toEqual(key.unreadable);
      for (const p of key.places) {
        expect(p.sentence).toMatch(/^[A-Z].*\.$/);
        expect(p.sentence).not.toMatch(/NaN|undefined|null/);
        expect(p.span.end).toBeLessThanOrEqual(recording.sampleCount);
        for (const at of [p.beat, p.mark]) {
          if (at === null) continue;
          expect(at).toBeGreaterThanOrEqual(p.span.start);
          expect(at).toBeLessThan(p.span.end);
        }
      }
    }
  });
});

test('what is said of the intervals around a wrong peak holds, also in the pause after an early beat', () => {
  // Seeds in which the usual sentence would not hold; the usual interval is the median of the ten true ones around.
  for (const [seed, difficulty] of [
    ['s20', 2],
    ['s10', 3],
    ['s3', 4],
  ] as const) {
    const { detected, key } = lessonOf('ectopic-beats', seed, difficulty);
    for (const { kind, mark, beat, sentence } of key.places) {
      if (kind !== 'wrongPeak') continue;
      const i = detected.indexOf(mark!);
      const [before, after] = [mark! - detected[i - 1]!, detected[i + 1]! - mark!];
      const k = key.beats.indexOf(beat!);
      const around = [...key.beats.subarray(k - 5, k + 6)].map((b, j, all) => b - (all[j - 1] ?? b)).slice(1);
      const usual = around.sort((a, b) => a - b)[5]!;
      if (sentence.startsWith('A long')) expect(before > usual && usual > after).toBe(true);
      if (sentence.startsWith('A short')) expect(before < usual && usual < after).toBe(true);
    }
  }
});

describe('what each lesson is about', () => {
  const kindsIn = (id: string) => new Set(lessonOf(id, 'a', 3).key.places.map(p => p.kind));

  test('single kinds are alone', () => {
    expect(kindsIn('missed-peaks')).toEqual(new Set(['missed']));
    expect(kindsIn('wrong-peaks')).toEqual(new Set(['wrongPeak', 'shifted']));
    expect(kindsIn('extra-marks')).toEqual(new Set(['extra']));
    expect(kindsIn('unreadable-stretches')).toEqual(new Set(['unreadable']));
    expect(kindsIn('mixed')).toEqual(new Set(['missed', 'wrongPeak', 'shifted', 'extra', 'unreadable']));
  });

  test('ectopic beats are marked on their R peak and are no mistakes', () => {
    const { key, detected } = makeLesson('ectopic-beats', 'about', 2);
    const ectopics = key.places.filter(p => p.kind === 'ectopic');
    expect(ectopics.length).toBeGreaterThanOrEqual(2);
    for (const p of ectopics) {
      expect(detected).toContain(p.mark);
      expect(key.beats).toContain(p.mark);
    }
  });

  test('T waves are taller than R, and R peaks point down, where the lesson says so', () => {
    const tall = makeLesson('tall-t-waves', 'about', 1);
    const lead = tall.leads[0]!;
    const onT = tall.key.planted.filter(p => p.on === 'T wave' && p.beat !== null);
    expect(onT.length).toBeGreaterThan(0);
    for (const p of onT) expect(lead[p.mark!]!).toBeGreaterThan(lead[p.beat!]!);
    const down = makeLesson('inverted-lead', 'about', 1);
    for (const beat of down.key.beats) expect(down.leads[0]![beat]!).toBeLessThan(0);
  });

  test('an unknown lesson is refused', () => {
    expect(() => makeLesson('nothing', 'a', 1)).toThrow(RangeError);
  });
});
