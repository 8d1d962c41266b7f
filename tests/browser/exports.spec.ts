import { expect, test } from '@playwright/test';
import { readBundle } from '../../src/formats/bundle/reader';
import { fileSource } from '../../src/formats/bytes/source';
import { exported, openBundle } from './page';
import * as given from './two-raters';

// The browser drops what goes beyond ten downloads a second.
test('two dozen exports one right after the other all arrive', async ({ page }) => {
  await openBundle(page, 'both.zip', given.bundleOf([]), given.session.title);
  for (let i = 0; i < 23; i++) {
    const [file] = await exported(page, 'EDF+ annotations');
    expect(file!.bytes.length).toBeGreaterThan(256);
  }
  const [bundle] = await exported(page, 'Session bundle');
  const { reviewed } = await readBundle(fileSource(new File([new Uint8Array(bundle!.bytes)], bundle!.name)));
  expect(reviewed.session.id).toBe(given.session.id);
});
