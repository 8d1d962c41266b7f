import { expect, test } from 'vitest';
import { openReview } from '../../../../src/state/review/opening';
import { removeUnlessOpen } from '../../../../src/state/sessions/removing';
import { bundleOf, createPage } from '../page';

const page = createPage();
const here = async () => (await page.library.sessions()).map(s => s.id);

test('a session that is open for writing is not removed under the hands of who works on it', async () => {
  const { file, session } = bundleOf('open', ['R1']);
  const other = bundleOf('open-2', ['R1']);
  await page.importFiles([file, other.file]);
  const opened = await openReview(page, session, 'R2');
  page.ui.setState({ notices: [] });
  await removeUnlessOpen(page, session);
  expect(await here()).toContain('open');
  expect(page.ui.getState().notices.at(-1)!.text).toContain('is open in another tab and was not removed');
  await removeUnlessOpen(page, other.session);
  expect(await here()).not.toContain('open-2');
  await opened.close();
  page.ui.setState({ notices: [] });
  await removeUnlessOpen(page, session);
  expect(await here()).not.toContain('open');
  expect(page.ui.getState().notices).toEqual([]);
});
