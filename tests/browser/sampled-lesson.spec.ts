import { expect, test } from '@playwright/test';
import { simulatedLesson } from '../../src/core/review/practice/practice-lesson';
import { qualityOf } from '../../src/core/score/measures';
import { scoreRecording } from '../../src/core/score/score';
import { sound } from './axe';
import { goTo, ready } from './page';

test.use({ viewport: { width: 1440, height: 900 } });

test('a learner samples two hours, stops by the interval, and sees the true quality', async ({ page }) => {
  test.slow();
  const name = { id: 'sampled-review', seed: 'browser', difficulty: 1 } as const;
  const { item, key, session } = simulatedLesson(name);
  const { samplingRateHz, gaps } = item.recording;
  const { total } = scoreRecording({
    beats: key.beats,
    marks: item.detected,
    unreadable: key.unreadable,
    gaps,
    segments: item.segments,
    samplingRateHz,
    settings: session.settings,
  });
  const truth = qualityOf(total).quality.value!;

  await page.goto(`/#/practice/${name.id}/${name.difficulty}/${name.seed}`);
  await ready(page);
  await expect(page.getByTestId('lesson-task')).toContainText('without looking through all of them');
  await expect(page.getByRole('button', { name: 'Hint', exact: true })).toHaveCount(0);
  await page.keyboard.press('q');
  const state = page.getByTestId('sample-state');
  await expect(page.getByTestId('sample-stretch')).toBeVisible();
  const done = new Set<number>();
  for (let n = 0; n < 120 && !(await state.textContent())!.includes('you can stop here'); n++) {
    const words = (await page.getByTestId('sample-stretch').textContent())!;
    const times = [...words.matchAll(/(?:(\d+):)?(\d+):(\d+\.\d)/g)].map(
      ([, h, m, s]) => 3600 * Number(h ?? 0) + 60 * Number(m) + Number(s),
    );
    for (let i = 0; i < times.length; i += 2) {
      const here = key.places.filter(p => {
        const at = (p.beat ?? p.mark!) / samplingRateHz;
        return at >= times[i]! && at < times[i + 1]! + 2 && !done.has(p.span.start);
      });
      for (const { beat, mark, span } of here) {
        done.add(span.start);
        if (mark !== null) {
          await goTo(page, mark / samplingRateHz);
          await page.keyboard.press('ArrowLeft');
          await page.keyboard.press('ArrowRight');
          await page.keyboard.press('Delete');
        }
        if (beat !== null) {
          await goTo(page, beat / samplingRateHz);
          await page.keyboard.press('Shift+I');
        }
      }
    }
    const before = await page.getByTestId('sample').textContent();
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('sample')).not.toHaveText(before!);
  }
  await expect(state).toContainText('you can stop here');
  await page.screenshot({ path: test.info().outputPath('sampled-lesson.png') });

  await page.keyboard.press('d');
  await expect(page.getByRole('dialog')).toContainText('The interval is as narrow as wanted.');
  await page.getByRole('button', { name: 'Grade it' }).press('Enter');
  const told = page.getByTestId('truth');
  await expect(told).toContainText(`True quality: ${truth.toFixed(2)} %`);
  await expect(told).toContainText('Your interval holds it.');
  await expect(page.getByTestId('counts')).toContainText(' 0 overlooked, 0 wrongly placed, 0 false alarms');
  await page.screenshot({ path: test.info().outputPath('shown-truth.png') });
  await sound(page, 'a graded sample');
});
