import { beforeAll, describe, expect, test } from 'vitest';
import type { Change } from '../../../../../src/core/marks/edit';
import * as logs from '../../../../../src/core/marks/log';
import {
  acceptSpan,
  addUnreadable,
  deleteMark,
  type Editing,
  insertMark,
  isRefusal,
} from '../../../../../src/core/review/edits';
import { hintChange } from '../../../../../src/core/review/practice/practice';
import {
  lessonFromReview,
  type PracticeLesson,
  simulatedLesson,
} from '../../../../../src/core/review/practice/practice-lesson';
import {
  checkResults,
  type PracticeResults,
  practiceResults,
  resultsText,
} from '../../../../../src/core/review/practice/practice-results';
import { detectedOf, logHeader } from '../../../../../src/core/review/session';
import { lessonKinds } from '../../../../../src/core/simulate/lessons';
import { sampleIndex, span } from '../../../../../src/core/units';

const name = { id: 'mixed', seed: 'class of 2026', difficulty: 2 } as const;
let lesson: PracticeLesson;
beforeAll(() => {
  lesson = simulatedLesson(name);
});

type Step = readonly [logs.Intent, (e: Editing) => ReturnType<typeof insertMark>];

/** A learner's log from acts, one every ten seconds. */
function logOf(of: PracticeLesson, steps: readonly Step[], learner = 'L07'): logs.EditLog {
  let log = logs.newLog(logHeader(of.session, learner, 'learner'));
  let state = logs.startReplay(detectedOf(of.session));
  for (const [intent, act] of steps) {
    const built = act({ item: of.item, review: state.recordings.get('lesson')!, finished: false });
    if (built === null || isRefusal(built)) throw new Error(JSON.stringify(built));
    const at = new Date(Date.UTC(2026, 1, 20, 9, 0, 10 * log.entries.length)).toISOString();
    const next = logs.append(log, { at, recording: 'lesson', intent, change: built as Change });
    log = next.log;
    state = logs.advance(state, next.entry);
  }
  return log;
}

/** The acts that put every planted mistake right. */
function answers(of: PracticeLesson): Step[] {
  return of.key.places.flatMap((p): Step[] => {
    const steps: Step[] = [];
    if (p.kind === 'unreadable') return [['unreadable', e => addUnreadable(e, p.span)]];
    if (p.kind === 'ectopic') return [];
    if (p.mark !== null) steps.push(['delete', e => deleteMark(e, p.mark!)]);
    if (p.beat !== null) steps.push(['insert', e => insertMark(e, p.beat!)]);
    return steps;
  });
}

const forge = (results: PracticeResults, part: Partial<PracticeResults>) => {
  const { checksum: _, ...body } = { ...results, ...part };
  return resultsText({ ...body, checksum: logs.sha256Hex(new TextEncoder().encode(logs.canonicalJson(body))) });
};
const why = (text: string) => {
  const checked = checkResults(text);
  return checked.ok ? 'ok' : checked.why;
};

// source: simulated truth of the lesson; grades follow from it by count.
describe('results of a practice lesson', () => {
  test.each(lessonKinds.filter(k => !k.sampled).map(k => k.id))(
    'lesson %s: the answers find all, doing nothing finds none',
    id => {
      const one = simulatedLesson({ id, seed: 's', difficulty: 3 });
      const planted = one.key.places.filter(p => p.kind !== 'ectopic').length;
      expect(planted).toBeGreaterThan(0);
      const all = practiceResults(one, logOf(one, answers(one))).grade;
      expect(all).toMatchObject({ planted, found: planted, overlooked: 0, wronglyPlaced: 0, falseAlarms: 0 });
      expect(all.points).toBe(all.maxPoints);
      const none = practiceResults(one, logOf(one, [])).grade;
      expect(none).toMatchObject({ planted, found: 0, overlooked: planted, falseAlarms: 0, points: 0 });
    },
  );

  test('a file handed in is graded again from its seed and log', () => {
    const log = logOf(lesson, [['look', e => hintChange(e.review, lesson.key.places[0]!)], ...answers(lesson)]);
    const results = practiceResults(lesson, log);
    expect(results.seconds).toBe(10 * (log.entries.length - 1));
    expect(results.grade.hints).toBe(1);
    const text = resultsText(results);
    expect(checkResults(text)).toEqual({ ok: true, results });
    expect(resultsText(JSON.parse(text) as PracticeResults)).toBe(text);
    expect(why(resultsText(practiceResults(lesson, logOf(lesson, []))))).toBe('ok');
  });

  test('what was changed is found', () => {
    const log = logOf(lesson, answers(lesson).slice(0, 2));
    const results = practiceResults(lesson, log);
    const text = resultsText(results);
    expect(why(text.replace('"learner":"L07"', '"learner":"L08"'))).toContain('checksum is wrong');
    expect(why(forge(results, { learner: 'L08' }))).toContain('signed by L07');
    expect(why(forge(results, { grade: { ...results.grade, points: 99 } }))).toContain('not what its log comes to');
    expect(why(forge(results, { lesson: { ...name, seed: 'another' } }))).toContain('another lesson');
    expect(why(forge(results, { lesson: { ...name, id: 'nothing' } }))).toContain('no lesson called nothing');
    const dropped = { ...log, entries: log.entries.slice(1) };
    expect(why(forge(results, { log: dropped }))).toContain('damaged');
    expect(why('{"format":"something"}')).toContain('not a results file');
    expect(why('not json')).toContain('not a results file');
    expect(why('null')).toContain('not a results file');
  });

  test('the same name gives the same lesson, another seed another one', () => {
    const again = simulatedLesson(name);
    expect(again.item.detected).toEqual(lesson.item.detected);
    expect(again.session.id).toBe('lesson-mixed-2-class-of-2026');
    expect(simulatedLesson({ ...name, seed: 'x' }).item.detected).not.toEqual(lesson.item.detected);
  });

  test('a lesson from a review is checked with the lesson given', () => {
    const done = logs.replay(logOf(lesson, answers(lesson)), detectedOf(lesson.session)).recordings.get('lesson')!;
    const own = lessonFromReview(lesson.session, lesson.item, done);
    const log = logOf(own, [
      ['accept', e => acceptSpan(e, span(0, 100))],
      ['insert', e => insertMark(e, sampleIndex(1))],
    ]);
    const text = resultsText(practiceResults(own, log));
    expect(checkResults(text, () => own).ok).toBe(true);
    expect(why(text)).toContain('no lesson called');
  });
});
