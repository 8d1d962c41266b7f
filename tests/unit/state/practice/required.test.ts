import { describe, expect, test } from 'vitest';
import { append, newLog } from '../../../../src/core/marks/log';
import { simulatedLesson } from '../../../../src/core/review/practice/practice-lesson';
import { practiceResults } from '../../../../src/core/review/practice/practice-results';
import { logHeader, type Session } from '../../../../src/core/review/session';
import { exportBundle } from '../../../../src/state/export/exporting';
import { keptCertificates } from '../../../../src/state/practice/certificates-kept';
import { saveDone } from '../../../../src/state/practice/progress';
import { practiceMissing, withRequiredPractice } from '../../../../src/state/practice/required';
import { openReview } from '../../../../src/state/review/opening';
import { listStudies, newStudy, removeStudy, saveStudy } from '../../../../src/state/study/studies';
import { beginningOf, createPage } from '../page';

const lesson = simulatedLesson({ id: 'mixed', seed: 'class of 2026', difficulty: 2 });

/** A lesson in which nothing was found: its points are what the grade says. */
async function practise(page: ReturnType<typeof createPage>, rater: string): Promise<void> {
  const at = '2026-02-14T09:00:00.000Z';
  const begun = newLog(logHeader(lesson.session, rater));
  const { log } = append(begun, { at, recording: lesson.item.recording.id, intent: 'look', change: [] });
  expect(practiceResults(lesson, log).grade.points).toBe(0);
  await saveDone(page, { lesson, edges: 'overlap' }, log);
}

const missingIn = (page: ReturnType<typeof createPage>) => async (session: Session, rater: string) =>
  practiceMissing(page.library, await withRequiredPractice(page.library, session), rater);

const certificate = (rater: string, points: number, difficulty = 3) =>
  ({
    rater,
    lesson: 'mixed',
    difficulty,
    at: '2026-02-14T09:00:00.000Z',
    points,
    maxPoints: 200,
    falseAlarms: 0,
  }) as const;

describe('practice that a study requires', () => {
  test('goes with a session that is handed on alone, to where the study is not', async () => {
    const here = createPage();
    const { file, session } = beginningOf('handed-on', 2);
    await here.importFiles([file]);
    const asked = { passPercent: 70, difficulty: 3 } as const;
    await saveStudy(here.library, {
      ...newStudy('Hut day', new Date(0)),
      sessions: [session.id],
      requiredPractice: asked,
    });
    const open = await openReview(here, session, 'R1');
    const [bundle] = await exportBundle(open, 'blind rater');
    // What a study asks for is not kept with the session: whoever saves a setting does not make it stay.
    expect(open.review.get().session.requiredPractice).toBeUndefined();
    await open.close();
    // As it was imported it says nothing: the study alone asks.
    expect((await here.library.session(session.id))!.requiredPractice).toBeUndefined();

    // Where the session is already, and its study is not, the copy asks all the same; one that asks for less changes nothing.
    const there = here;
    for (const { id } of await listStudies(there.library)) await removeStudy(there.library, id);
    await there.importFiles([new File([bundle!.blob], bundle!.name)]);
    expect((await there.library.session(session.id))!.requiredPractice).toEqual([asked]);
    await there.importFiles([file]);
    expect((await there.library.session(session.id))!.requiredPractice).toEqual([asked]);

    // Another browser: neither the session nor its study is there.
    await there.library.removeSession(session.id);
    await there.importFiles([new File([bundle!.blob], bundle!.name)]);
    const taken = (await there.library.session(session.id))!;
    expect(taken.requiredPractice).toEqual([asked]);
    const closed = await openReview(there, taken, 'R2');
    expect(closed.review.get().access).toEqual({
      writable: false,
      why: 'this study asks for practice first: 70 % in a lesson of difficulty 3 or more',
    });
    await closed.close();
    // Both what came with it and another study's count; the same asked twice is asked once.
    const easy = { passPercent: 10, difficulty: 1 } as const;
    const studies = [asked, easy].map((requiredPractice, i) => ({
      ...newStudy(`Day ${i}`, new Date(i)),
      sessions: [session.id],
      requiredPractice,
    }));
    for (const study of studies) await saveStudy(there.library, study);
    expect((await withRequiredPractice(there.library, taken)).requiredPractice).toEqual([asked, easy]);
  });

  test('keeps a review as it is until the rater has it; other raters and sessions are their own', async () => {
    const page = createPage();
    const missing = missingIn(page);
    const { file, session } = beginningOf('guarded', 2);
    await page.importFiles([file]);
    const study = { ...newStudy('Hut day', new Date(0)), sessions: [session.id] };
    await saveStudy(page.library, study);
    expect(await missing(session, 'R1')).toBeNull();

    await saveStudy(page.library, { ...study, requiredPractice: { passPercent: 70, difficulty: 3 } });
    const why = 'this study asks for practice first: 70 % in a lesson of difficulty 3 or more';
    const closed = await openReview(page, session, 'R1');
    expect(closed.review.get().access).toEqual({ writable: false, why });
    await closed.close();
    expect(await missing({ ...session, id: 'another' }, 'R1')).toBeNull();

    const taken = await keptCertificates(page.library);
    await practise(page, 'R1');
    await taken.put(certificate('R1', 139), 'R1', 'just too few');
    await taken.put(certificate('R1', 200, 2), 'R1', 'too easy');
    await taken.put(certificate('R2', 200), 'R2', 'somebody else');
    expect(await missing(session, 'R1')).toBe(why);
    expect(await missing(session, 'R2')).toBeNull();

    await taken.put(certificate('R1', 140), 'R1', 'enough');
    const open = await openReview(page, session, 'R1');
    expect(open.review.get().access).toEqual({ writable: true, why: null });
    await open.close();
  });

  test('counts lessons done in this browser', async () => {
    const page = createPage();
    const missing = missingIn(page);
    const { session } = beginningOf('easy', 2);
    const study = { ...newStudy('Easy day', new Date(1)), sessions: ['easy'] };
    await saveStudy(page.library, { ...study, requiredPractice: { passPercent: 0, difficulty: 2 } });
    expect(await missing({ ...session, id: 'easy' }, 'R7')).toMatch(/^this study asks for practice first: 0 %/);
    await practise(page, 'R7');
    expect(await missing({ ...session, id: 'easy' }, 'R7')).toBeNull();
  });
});
