import { expect, test } from 'vitest';
import { inOneNotice } from '../../../../src/state/import/files';
import { beginningOf, bundleOf, createPage } from '../page';

const page = createPage();
const notices = () => page.ui.getState().notices.map(n => n.text);

test('bundles opened again make one notice, which names those that brought something', async () => {
  const names = ['one', 'two', 'three'];
  await page.importFiles([...names.map(n => bundleOf(n).file), beginningOf('grows', 2).file]);
  expect(notices()).toEqual([]);
  expect(await page.importFiles([...names.map(n => bundleOf(n).file), bundleOf('grows').file])).toHaveLength(4);
  expect(notices()).toEqual([expect.stringMatching(/^3 files with nothing new\. .*: the review of R1 went on\.$/)]);
});

test('of many that brought something the first are named and the rest counted', () => {
  const said = Array.from({ length: 9 }, (_, i) => `V0${i}: added the review of R2.`);
  expect(inOneNotice(said)).toEqual([`${said.slice(0, 4).join(' ')} And 5 more.`]);
  expect(inOneNotice(said.slice(0, 2))).toEqual(said.slice(0, 2));
});
