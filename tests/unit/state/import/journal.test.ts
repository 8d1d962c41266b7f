import { expect, test } from 'vitest';
import { interruptedImports, openJournalOf } from '../../../../src/state/import/journal';
import { createPage } from '../page';

test('an import that was cut off is found with how far it was, never beyond the whole file', async () => {
  const page = createPage();
  const journal = await openJournalOf({ ...page, now: () => new Date('2026-03-14T08:00:00Z') }, 'cut-off');
  const begin = (recording: string) => journal.begin(recording, new File(['0123456789'], `${recording}.csv`));
  await begin('half');
  journal.progress('half', 0.4);
  await begin('unpacked');
  expect(await interruptedImports(page)).toEqual([]);
  journal.release();
  const found = await interruptedImports(page);
  expect(found.map(f => [f.fileName, f.share])).toEqual([
    ['half.csv', 0.4],
    ['unpacked.csv', 0],
  ]);
});

test('a file that is read by more bytes than it has was at most read in full', async () => {
  const page = createPage();
  const journal = await openJournalOf(page, 'unpacked');
  await journal.begin('table', new File(['0123456789'], 'table.npz'));
  journal.progress('table', 3.1);
  journal.release();
  const found = await interruptedImports(page);
  expect(found.find(f => f.session === 'unpacked')!.share).toBe(1);
});
