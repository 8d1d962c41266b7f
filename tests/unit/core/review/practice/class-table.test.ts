import { describe, expect, test } from 'vitest';
import { append, newLog } from '../../../../../src/core/marks/log';
import {
  type ClassPlan,
  isAfter,
  judgedByPlan,
  planStandings,
} from '../../../../../src/core/review/practice/class-plan';
import { classRows, type HandedIn, hardestPlaces } from '../../../../../src/core/review/practice/class-table';
import { simulatedLesson } from '../../../../../src/core/review/practice/practice-lesson';
import { checkResults, practiceResults, resultsText } from '../../../../../src/core/review/practice/practice-results';
import { logHeader } from '../../../../../src/core/review/session';
import type { SampleIndex } from '../../../../../src/core/units';

const name = { id: 'mixed', seed: 'class-a', difficulty: 2 } as const;
const lesson = simulatedLesson(name);
const missed = lesson.key.places.filter(p => p.kind === 'missed');

/** A learner who inserts the first `found` missed beats, beginning at a minute of one morning. */
function file(learner: string, found: number, minute: number, attempts?: number): HandedIn {
  let log = newLog(logHeader(lesson.session, learner, 'learner'));
  const at = (i: number) => new Date(Date.UTC(2026, 1, 20, 9, minute, 10 * i)).toISOString();
  const recording = lesson.item.recording.id;
  for (let i = 0; i < found; i++) {
    const change = [{ op: 'marks', removed: [], added: [missed[i]!.beat!] as SampleIndex[] }] as const;
    log = append(log, { at: at(i), recording, intent: 'insert', change }).log;
  }
  log = append(log, { at: at(found), recording: '', intent: 'finish', change: [] }).log;
  const own = { at: at(found), points: 10 * found };
  const earlier = Array.from({ length: (attempts ?? 1) - 1 }, () => ({ at: at(0), points: null }));
  const results = attempts ? practiceResults(lesson, log, [...earlier, own], 3) : practiceResults(lesson, log);
  return { file: `${learner}-${minute}.json`, results };
}

describe('the table of a class', () => {
  test('has a row for each learner and lesson, with the first and the best attempt', () => {
    const rows = classRows([file('L2', 1, 30), file('L1', 2, 20), file('L1', 0, 5)]);
    expect(rows.map(r => r.learner)).toEqual(['L1', 'L2']);
    expect(rows[0]).toMatchObject({ attempts: 2, first: { points: 0 }, best: { points: 20 }, repeated: 0 });
    expect(rows[0]!.first.at < rows[0]!.best.at).toBe(true);
    expect(rows[1]).toMatchObject({ attempts: 1, first: { points: 10 }, best: { points: 10 }, sameActsAs: [] });
  });

  test('counts a file handed in twice once, and says whose acts are the same', () => {
    const rows = classRows([file('L1', 1, 0), file('L1', 1, 0), file('L2', 1, 0), file('L3', 1, 1)]);
    expect(rows[0]).toMatchObject({ learner: 'L1', attempts: 1, repeated: 1, sameActsAs: ['L2'] });
    expect(rows[1]).toMatchObject({ learner: 'L2', repeated: 0, sameActsAs: ['L1'] });
    expect(rows[2]).toMatchObject({ learner: 'L3', sameActsAs: [] });
  });

  test('knows of attempts that were not handed in where a file tells of them', () => {
    expect(classRows([file('L1', 1, 0, 4)])[0]).toMatchObject({ attempts: 4 });
  });

  test('names the hardest places first, by the first attempt of each learner', () => {
    const handedIn = [file('L1', 0, 0), file('L1', 2, 9), file('L2', 1, 0), file('L3', 2, 0)];
    const places = hardestPlaces(handedIn, () => lesson);
    const of = (i: number) =>
      places.find(p => p.seconds === missed[i]!.span.start / lesson.item.recording.samplingRateHz)!;
    expect(of(0)).toMatchObject({ kind: 'missed', found: 2, learners: 3 });
    expect(of(1)).toMatchObject({ kind: 'missed', found: 1, learners: 3 });
    expect(places.map(p => p.found)).toEqual([...places.map(p => p.found)].sort((a, b) => a - b));
    expect(hardestPlaces(handedIn, () => null)).toEqual([]);
  });
});

describe('a results file that says which attempt it is', () => {
  test('is checked as a whole, like one that does not', () => {
    const { results } = file('L1', 1, 0, 3);
    expect(results.attempts).toHaveLength(3);
    expect(checkResults(resultsText(results), () => lesson)).toMatchObject({ ok: true });
    const fewer = resultsText({ ...results, attempts: results.attempts!.slice(1) });
    expect(checkResults(fewer, () => lesson)).toMatchObject({ ok: false, why: expect.stringContaining('checksum') });
    expect(checkResults(resultsText({ ...results, attempts: [] }), () => lesson).ok).toBe(false);
  });
});

describe('the plan of a class', () => {
  const other = { id: 'missed-beats', seed: 'b', difficulty: 1 } as const;
  const plan: ClassPlan = {
    title: 'Course',
    lessons: [name, other],
    inOrder: true,
    attempts: 2,
    deadline: '2026-02-20',
    passPercent: 80,
  };
  const standings = (first: number[], part: Partial<ClassPlan> = {}) =>
    planStandings({ ...plan, ...part }, l => (l === name ? first.map(points => ({ points, maxPoints: 100 })) : []));

  test('opens a lesson once the one before it is passed', () => {
    expect(standings([]).map(s => s.closed)).toEqual([null, 'the lesson before it comes first']);
    expect(standings([60]).map(s => [s.passed, s.closed])).toEqual([
      [false, null],
      [false, 'the lesson before it comes first'],
    ]);
    expect(standings([60, 80]).map(s => [s.bestPercent, s.passed, s.closed])).toEqual([
      [80, true, 'no attempt is left'],
      [null, false, null],
    ]);
    expect(standings([], { inOrder: false })[1]!.closed).toBeNull();
    expect(standings([10, 20, 30], { attempts: null })[0]!.closed).toBeNull();
  });

  test('judges a row: passed, late, too many attempts, or not its lesson', () => {
    const [row] = classRows([file('L1', 1, 0, 3)]);
    expect(judgedByPlan({ ...plan, passPercent: 0 }, row!)).toEqual({ passed: true, late: false, tooMany: true });
    expect(judgedByPlan({ ...plan, deadline: '2026-02-19' }, row!)).toMatchObject({ passed: false, late: true });
    expect(judgedByPlan({ ...plan, lessons: [other] }, row!)).toBeNull();
    expect(isAfter('2026-02-20T23:59:59Z', '2026-02-20')).toBe(false);
  });
});
