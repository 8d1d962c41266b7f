import { expect, test } from 'vitest';
import type { SessionProgress } from '../../../../src/state/sessions/listing';
import { followProgress, sessionProgress } from '../../../../src/state/sessions/progress';
import { bundleOf, createPage } from '../page';

const page = createPage();

test('the progress of a session is that of the own review; of others only their codes are read', async () => {
  const { file, logs } = bundleOf('day');
  await page.importFiles([file]);
  const mine = await sessionProgress(page.library, 'day', 'R1');
  expect(mine.own).toMatchObject({ entries: logs[0]!.entries.length, finished: true });
  expect(mine.others).toEqual([]);
  const asked: string[] = [];
  const watched: typeof page.library = {
    ...page.library,
    log: (session, rater) => {
      asked.push(rater);
      return page.library.log(session, rater);
    },
  };
  expect(await sessionProgress(watched, 'day', 'R9')).toEqual({ own: null, others: ['R1'] });
  expect(asked).toEqual([]);
});

test('many sessions are read one after the other, and no more once the list is gone', async () => {
  const told: ReadonlyMap<string, SessionProgress>[] = [];
  const ids = Array.from({ length: 60 }, (_, i) => `none-${i}`);
  await new Promise<void>((resolve, reject) => {
    followProgress(
      page.library,
      ids,
      'R1',
      known => {
        told.push(known);
        if (known.size === ids.length) resolve();
      },
      reject,
    );
  });
  expect(told.map(k => k.size)).toEqual([25, 50, 60]);
  let more = 0;
  const end = followProgress(
    page.library,
    ids,
    'R1',
    () => more++,
    () => more++,
  );
  end();
  await sessionProgress(page.library, 'day', 'R1');
  expect(more).toBe(0);
});
