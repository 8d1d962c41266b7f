import { describe, expect, test } from 'vitest';
import { newLog } from '../../../../src/core/marks/log';
import { hintChange } from '../../../../src/core/review/practice/practice';
import { simulatedLesson } from '../../../../src/core/review/practice/practice-lesson';
import { logHeader } from '../../../../src/core/review/session';
import { type Difficulty, lessonKinds, makeLesson } from '../../../../src/core/simulate/lessons';
import { type SampleIndex, span } from '../../../../src/core/units';
import { createPractice } from '../../../../src/state/practice/practice';
import { cleanSeed, type PracticeTask, pathOfTask, taskOfPath, wordSeed } from '../../../../src/state/practice/task';
import { memoryLead } from '../../../../src/state/review/memory-leads';
import { createOccurrences } from '../../../../src/state/review/occurrences';
import { createReviewStore } from '../../../../src/state/review/review-store';
import { createSignals } from '../../../../src/state/review/signals';
import { hashOfScreen, screenFromHash } from '../../../../src/state/stores/ui-store';

const task = { from: 'seed', id: 'mixed', difficulty: 2, seed: 'unit' } as const;
const lesson = simulatedLesson(task);
const id = lesson.item.recording.id;
const tenSeconds = 10 * lesson.item.recording.samplingRateHz;
const mistakes = lesson.key.places.filter(p => p.kind !== 'ectopic');

function begin(of = lesson, name: PracticeTask = task) {
  const start = {
    session: of.session,
    log: newLog(logHeader(of.session, 'L1', 'learner')),
    others: [],
    access: { writable: true, why: null },
  };
  const review = createReviewStore(
    start,
    async () => undefined,
    () => new Date(0),
  );
  const occurrences = createOccurrences();
  const practice = createPractice(name, of, review, occurrences, 'overlap');
  const marks = (removed: readonly number[], added: readonly number[]) => {
    const change = [{ op: 'marks', removed: removed as SampleIndex[], added: added as SampleIndex[] }] as const;
    expect(review.act({ recording: id, intent: 'move', change })).toBe(true);
  };
  return { review, practice, occurrences, marks };
}

describe('the address of a lesson', () => {
  test('leads back to the lesson', () => {
    const tasks: PracticeTask[] = [
      task,
      { from: 'session', session: 'V01-day', recording: 'band', rater: 'S1' },
      ...lessonKinds.map(
        (k, i) => ({ from: 'seed', id: k.id, difficulty: ((i % 5) + 1) as Difficulty, seed: 'a-1' }) as const,
      ),
    ];
    for (const t of tasks) {
      const screen = screenFromHash(hashOfScreen({ name: 'practice', task: pathOfTask(t) }));
      expect(screen.name === 'practice' && taskOfPath(screen.task)).toEqual(t);
    }
  });

  test.each([[['mixed']], [['mixed', '6', 'a']], [['mixed', '2', '']], [['no-such', '2', 'a']], [['from', 'S']]])(
    '%j names no lesson',
    path => {
      expect(taskOfPath(path)).toBeNull();
    },
  );

  test('seeds keep what can be dictated, and random ones can be said', () => {
    expect(cleanSeed('Class B, monday')).toBe('class-b-monday');
    expect(cleanSeed(wordSeed([0, 0.5, 0.999]))).toBe(wordSeed([0, 0.5, 0.999]));
    expect(wordSeed([0, 0.999])).toBe('baze');
  });
});

// source: the words the simulator made.
test('a lead in memory shows what was simulated', () => {
  const { leads, recording } = makeLesson('mixed', 'unit', 2);
  const signals = createSignals([recording]);
  signals.replace(recording.id, [memoryLead(recording.leads[0]!, leads[0]!)]);
  expect(signals.peek(recording.id, 0, 1000, 1003)).toEqual(leads[0]!.subarray(1000, 1003));
  const out = { min: new Float32Array(1), max: new Float32Array(1) };
  const all = { baseline: false, mainsHz: 0, muscle: false } as const;
  const seconds = recording.sampleCount / recording.samplingRateHz;
  expect(signals.columns(recording.id, 0, 0, seconds, 1, out, all)).toBe('exact');
  expect(out.max[0]).toBeCloseTo(Math.max(...leads[0]!) * recording.leads[0]!.mvPerUnit, 5);
});

// source: the planted truth of the lesson.
describe('hints', () => {
  test('go round the places not right yet, and cost once', () => {
    const { practice, review } = begin();
    const first = practice.nextHint(0)!;
    expect(first).toEqual(mistakes[0]);
    const stretch = span(
      Math.floor(first.span.start / tenSeconds) * tenSeconds,
      Math.floor(first.span.start / tenSeconds) * tenSeconds + tenSeconds,
    );
    for (const step of [1, 2, 3] as const) {
      const change = hintChange(review.get().replayed.recordings.get(id)!, first)!;
      review.act({ recording: id, intent: 'look', change });
      const shown = step === 1 ? stretch : first.span;
      expect(practice.hinted()).toEqual([{ place: first, step, span: shown }]);
      expect(practice.pointers()).toMatchObject([{ span: shown, label: 'hint', peak: null, mark: null }]);
      // Until all was told, the same key goes on with the place of this stretch.
      if (step < 3) expect(practice.nextHint(stretch.start)).toEqual(first);
    }
    expect(practice.hintPoints()).toBe(-3);
    expect(practice.nextHint(0)).toEqual(mistakes[1]);
    expect(practice.nextHint(lesson.item.recording.sampleCount)).toEqual(mistakes[1]);
    expect(review.undo()).toBe(false);
    expect(practice.hints()).toBe(1);
  });

  test('pass over what has been put right, and end when all is', () => {
    const missed = simulatedLesson({ id: 'missed-peaks', seed: 'unit', difficulty: 1 });
    const { practice, marks } = begin(missed);
    const beats = missed.key.places.flatMap(p => (p.kind === 'missed' ? [p.beat!] : []));
    expect(beats).toHaveLength(5);
    marks([], beats.slice(0, 1));
    expect(practice.nextHint(0)?.beat).toBe(beats[1]);
    marks([], beats.slice(1));
    expect(practice.nextHint(0)).toBeNull();
  });
});

describe('answers', () => {
  test('stay hidden until the lesson is done', () => {
    const { practice, review } = begin();
    expect(practice.feedback()).toEqual([]);
    expect(practice.pointers()).toEqual([]);
    review.act({ recording: '', intent: 'finish', change: [] });
    expect(practice.feedback().map(f => [f.at, f.outcome])).toEqual(
      mistakes.map(p => [p.beat ?? p.mark ?? p.span.start, 'overlooked']),
    );
    expect(practice.feedback().map(f => f.sentences[0])).toEqual(mistakes.map(p => p.sentence));
  });

  test('point at the R peak and the mark of the current place only', () => {
    const { practice, review, occurrences } = begin();
    review.act({ recording: '', intent: 'finish', change: [] });
    const i = practice.feedback().findIndex(f => f.what === 'wrong peak');
    occurrences.setState({ at: i });
    const { beat, mark } = practice.feedback()[i]!;
    expect(beat).not.toBeNull();
    const pointed = practice.pointers().filter(p => p.peak !== null || p.mark !== null);
    expect(pointed).toEqual([expect.objectContaining({ peak: beat, mark, current: true })]);
  });

  test('name early beats that were rightly left, removed, or called unreadable', () => {
    const name = { from: 'seed', id: 'ectopic-beats', difficulty: 2, seed: 'unit' } as const;
    const early = simulatedLesson(name);
    const beats = early.key.places.flatMap(p => (p.kind === 'ectopic' ? [p.beat!] : []));
    expect(beats.length).toBeGreaterThanOrEqual(3);
    const { practice, review, marks } = begin(early, name);
    const [removed, hidden] = beats;
    marks([removed!], []);
    const span = { start: (hidden! - 5) as SampleIndex, end: (hidden! + 5) as SampleIndex };
    review.act({ recording: id, intent: 'unreadable', change: [{ op: 'unreadable', removed: [], added: [span] }] });
    review.act({ recording: '', intent: 'finish', change: [] });
    const told = practice.feedback().filter(f => f.what === 'early beat');
    expect(told.map(f => f.outcome)).toEqual(
      beats.map((_, i) => ['false alarm', 'called unreadable'][i] ?? 'rightly left alone'),
    );
    expect(practice.grade().summary.falseAlarms).toBe(2);
  });
});
