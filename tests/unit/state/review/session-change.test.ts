import { expect, test } from 'vitest';
import { openReview } from '../../../../src/state/review/opening';
import { changeOpenSession } from '../../../../src/state/review/session-change';
import { bundleOf, createPage } from '../page';

test('two tabs change one session for two raters: neither takes back what the other has changed', async () => {
  const page = createPage();
  const { file, session } = bundleOf('two-tabs');
  await page.importFiles([file]);
  const first = await openReview(page, session, 'R8');
  const second = await openReview(page, session, 'R9');
  const segment = session.recordings[0]!.segments[0]!;
  await changeOpenSession(page, first.review, now => ({
    ...now,
    recordings: now.recordings.map((r, i) => (i === 0 ? { ...r, segments: [{ ...segment, name: 'renamed' }] } : r)),
  }));
  const tolerance = (onPeakToleranceMs: number) =>
    changeOpenSession(page, second.review, now => ({ ...now, settings: { ...now.settings, onPeakToleranceMs } }));
  await Promise.all([tolerance(6), tolerance(60)]);
  const stored = await page.library.session(session.id);
  for (const now of [stored!, second.review.get().session]) {
    expect(now.recordings[0]!.segments.map(s => s.name)).toEqual(['renamed']);
    expect(now.settings.onPeakToleranceMs).toBe(60);
  }
  expect(second.review.get().session.recordings[0]!.detected).toBe(session.recordings[0]!.detected);
  await Promise.all([first.close(), second.close()]);
});
