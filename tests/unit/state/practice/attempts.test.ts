import { expect, test } from 'vitest';
import { append, newLog } from '../../../../src/core/marks/log';
import { classRows } from '../../../../src/core/review/practice/class-table';
import { simulatedLesson } from '../../../../src/core/review/practice/practice-lesson';
import { logHeader } from '../../../../src/core/review/session';
import { classCsv, finishedAttempts } from '../../../../src/state/practice/class-files';
import { attemptsAt, forgetLesson, gradingKept, saveDone } from '../../../../src/state/practice/progress';
import { checkResultsFile, resultsFile } from '../../../../src/state/practice/results';
import { collection } from '../../../../src/storage/collection';
import { createPage } from '../page';

const name = { id: 'mixed', seed: 'attempts', difficulty: 1 } as const;
const lesson = simulatedLesson(name);
const done = { lesson, edges: 'overlap' } as const;

function logAt(minute: number, finished: boolean, learner = 'L1') {
  const recording = lesson.item.recording.id;
  const at = (s: number) => new Date(Date.UTC(2026, 1, 20, 9, minute, s)).toISOString();
  const begun = append(newLog(logHeader(lesson.session, learner, 'learner')), {
    at: at(0),
    recording,
    intent: 'delete',
    change: [{ op: 'marks', removed: [lesson.item.detected[0]!] as never, added: [] }],
  }).log;
  return finished ? append(begun, { at: at(9), recording: '', intent: 'finish', change: [] }).log : begun;
}

test('every attempt at a lesson counts, a discarded one without points, and the results file has them all', async () => {
  const page = createPage();
  const { library } = page;
  const { id } = lesson.session;
  await library.addLog(logAt(0, false));
  await forgetLesson(library, id, 'L1');
  const first = logAt(10, true);
  expect(await saveDone(page, done, first)).toBe(true);
  expect(await saveDone(page, done, first)).toBe(true);
  const second = logAt(20, true);
  expect(await saveDone(page, done, second)).toBe(false);
  const attempts = await attemptsAt(library, id, 'L1');
  expect(attempts.map(a => a.points === null)).toEqual([true, false, false]);
  expect(await attemptsAt(library, id, 'L2')).toEqual([]);

  const file = await resultsFile(library, lesson, second);
  const checked = await checkResultsFile(library, await file.blob.text());
  expect(checked).toMatchObject({ ok: true, results: { version: 4 } });
  if (!checked.ok) return;
  expect(checked.results.attempts!.map(a => a.at)).toEqual(attempts.map(a => a.at));
  const earlier = await checkResultsFile(library, await (await resultsFile(library, lesson, first)).blob.text());
  expect(earlier.ok && earlier.results.attempts).toHaveLength(2);

  const plan = { title: 'Course', lessons: [name], inOrder: true, attempts: 2, deadline: null, passPercent: 50 };
  const finishedOf = await finishedAttempts(library, plan, 'L1');
  expect(finishedOf(name)).toHaveLength(2);
  const csv = await classCsv(classRows([{ file: 'a', results: checked.results }]), plan).blob.text();
  const [head, row] = csv.split('\r\n');
  expect(head).toMatch(/^learner,lesson,difficulty,seed,attempts,first_points,.*,passed,late,too_many_attempts$/);
  expect(row).toMatch(/^L1,mixed,1,attempts,3,/);
});

test('a lesson done before attempts were counted is one attempt', async () => {
  const page = createPage();
  const log = logAt(10, true, 'L3');
  await saveDone(page, done, log);
  const kept = collection<{ type: string }>(await page.library.database(), 'practice');
  const attempt = await kept.get('L3', 'attempt', log.entries.at(-1)!.hash);
  expect(attempt).not.toBeNull();
  await kept.remove('L3', 'attempt', log.entries.at(-1)!.hash);
  const { edges: _, ...before } = (attempt as never as { attempt: { edges: string } }).attempt;
  expect(await attemptsAt(page.library, lesson.session.id, 'L3')).toEqual([before]);
});

test('a lesson graded before edges counted keeps its grade and its results file', async () => {
  const page = createPage();
  const { library } = page;
  const log = logAt(10, true, 'L4');
  const { hash } = log.entries.at(-1)!;
  expect(await gradingKept(library, logAt(10, false, 'L4'))).toBe('overlap');
  expect(await gradingKept(library, log)).toBe('overlap');
  const kept = collection<object>(await library.database(), 'practice');
  const attempt = { at: log.entries.at(-1)!.at, points: 6, maxPoints: 120 };
  await kept.put({ type: 'attempt', learner: 'L4', session: lesson.session.id, attempt }, 'L4', 'attempt', hash);
  expect(await gradingKept(library, log)).toBe('half');
  // Opened again, it is kept once more as it was graded.
  await saveDone(page, { lesson, edges: 'half' }, log);
  expect(await gradingKept(library, log)).toBe('half');
  const checked = await checkResultsFile(library, await (await resultsFile(library, lesson, log)).blob.text());
  expect(checked).toMatchObject({ ok: true, results: { version: 3, attempts: [{ at: attempt.at }] } });
  await kept.remove('L4', 'attempt', hash);
  // Of before attempts were counted only the lesson done is known.
  expect(await gradingKept(library, log)).toBe('half');
});
