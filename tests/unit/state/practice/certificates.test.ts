import { describe, expect, test } from 'vitest';
import { append, newLog } from '../../../../src/core/marks/log';
import { simulatedLesson } from '../../../../src/core/review/practice/practice-lesson';
import { practiceResults, resultsText } from '../../../../src/core/review/practice/practice-results';
import { logHeader } from '../../../../src/core/review/session';
import { takeCertificate } from '../../../../src/state/practice/certificates';
import { certificates } from '../../../../src/state/practice/certificates-kept';
import { createPage } from '../page';

/** A learner who only looked: nothing found, nothing claimed. */
function resultsOf(rater: string, entries = 1): string {
  const lesson = simulatedLesson({ id: 'mixed', seed: 'class of 2026', difficulty: 2 });
  let log = newLog(logHeader(lesson.session, rater));
  for (let i = 0; i < entries; i++) {
    const at = `2026-02-14T09:00:0${i}.000Z`;
    log = append(log, { at, recording: lesson.item.recording.id, intent: 'look', change: [] }).log;
  }
  return resultsText(practiceResults(lesson, log));
}

describe('certificates of practice', () => {
  test('are taken once each, and listed by rater', async () => {
    const { library } = createPage();
    expect(await certificates(library)).toEqual([]);
    await takeCertificate(library, 'r2.json', resultsOf('R2'));
    const taken = await takeCertificate(library, 'r1.json', resultsOf('R1'));
    expect(taken).toMatchObject({ rater: 'R1', lesson: 'mixed', difficulty: 2, points: 0, falseAlarms: 0 });
    expect(taken.maxPoints).toBeGreaterThan(0);
    await takeCertificate(library, 'r1 again.json', resultsOf('R1'));
    expect((await certificates(library)).map(c => c.rater)).toEqual(['R1', 'R2']);
  });

  test('a changed file, or one without work, is none', async () => {
    const { library } = createPage();
    const before = (await certificates(library)).length;
    const changed = resultsOf('R3').replace('"learner":"R3"', '"learner":"R4"');
    await expect(takeCertificate(library, 'r4.json', changed)).rejects.toThrow('r4.json: The file was changed');
    await expect(takeCertificate(library, 'r3.json', resultsOf('R3', 0))).rejects.toThrow('nothing was done');
    expect(await certificates(library)).toHaveLength(before);
  });
});
