import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import type { Change } from '../../../../../src/core/marks/edit';
import * as logs from '../../../../../src/core/marks/log';
import { upgradeEntry } from '../../../../../src/core/marks/upgrade-entry';
import {
  acceptSpan,
  addUnreadable,
  deleteMark,
  type Editing,
  insertMark,
  isRefusal,
} from '../../../../../src/core/review/edits';
import { classRows } from '../../../../../src/core/review/practice/class-table';
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

  // source: stored by version 3 of the results file, with the grade it had then
  test('a file of version 3 is graded as it was: half of a stretch is enough', () => {
    const stored = readFileSync(join(import.meta.dirname, '../../../../stored/practice-results-3.json'), 'utf8');
    const checked = checkResults(stored);
    expect(checked).toMatchObject({
      ok: true,
      results: { version: 3, grade: { found: 2, points: 23, maxPoints: 30 } },
    });
    if (!checked.ok) return;
    const { log, lesson: named, attempts } = checked.results;
    const again = { header: log.header, entries: log.entries.map(upgradeEntry) };
    const now = practiceResults(simulatedLesson(named), again, attempts!.slice(0, -1));
    // 0.55, all and 0.29 of the three stretches by overlap: 6 (5.5 rounded), 10 and 3 points.
    expect(now).toMatchObject({ version: 4, grade: { found: 2, points: 19, maxPoints: 30 } });
    expect(now.attempts).toEqual([attempts![0], { at: attempts![1]!.at, points: 19 }]);
    expect(checkResults(resultsText(now))).toEqual({ ok: true, results: now });
    const [row] = classRows([{ file: 'a', results: checked.results }]);
    expect(row!.best).toMatchObject({ points: 23, edgeOverlap: null, halfWasEnough: true });
    expect(classRows([{ file: 'a', results: now }])[0]!.best).toMatchObject({
      edgeOverlap: 0.614,
      halfWasEnough: false,
    });
  });

  test('points of this attempt that are not what its log comes to are found', () => {
    const results = practiceResults(lesson, logOf(lesson, answers(lesson).slice(0, 2)));
    const [own] = results.attempts!;
    expect(why(forge(results, { attempts: [{ ...own!, points: own!.points! + 1 }] }))).toContain('not what its log');
    expect(why(forge(results, { attempts: [] }))).toContain('not a results file');
  });
});
