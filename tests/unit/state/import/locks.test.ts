import { expect, test } from 'vitest';
import { underLocks } from '../../../../src/state/import/merging';
import { lockSession } from '../../../../src/storage/locks';
import { createPage } from '../page';

// The locks between tabs that Node has not got.
createPage();

test('two imports that name the same reviews in opposite order are both done, one after the other', async () => {
  const reviews = [['V1-am', 'R1'] as const, ['V1-pm', 'R1'] as const];
  const done: string[] = [];
  const work = (name: string) => async () => {
    done.push(`${name} begins`);
    await new Promise(resolve => setTimeout(resolve, 5));
    done.push(`${name} ends`);
  };
  await Promise.all([underLocks('a', reviews, work('a')), underLocks('b', reviews.toReversed(), work('b'))]);
  expect(done).toEqual(['a begins', 'a ends', 'b begins', 'b ends']);
});

test('a review that is open refuses the import, which keeps nothing locked', async () => {
  const open = await lockSession('V2-pm', 'R1');
  const reviews = [['V2-am', 'R1'] as const, ['V2-pm', 'R1'] as const];
  await expect(underLocks('a', reviews, async () => undefined)).rejects.toThrow('the review of R1 is open');
  open.release();
  await underLocks('a', reviews, async () => undefined);
});
