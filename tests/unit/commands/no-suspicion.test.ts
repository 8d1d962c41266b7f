import { expect, test } from 'vitest';
import { goToSuspicion } from '../../../src/commands/navigate';
import type { App } from '../../../src/state/app';
import { noSuspicions } from '../../../src/state/review/suspicions';
import type { ReviewWorkspace } from '../../../src/state/review/workspace';
import { createViewStore } from '../../../src/state/stores/view-store';

/** What the page says when no suspicious place can be gone to. */
function said(ready: boolean, why: string | null = null): string {
  let words = '';
  const app = {
    ui: {
      status: (text: string) => {
        words = text;
      },
    },
  } as unknown as App;
  const suspicions = { ...noSuspicions(ready), whyNone: () => why };
  const workspace = { purpose: 'review', view: createViewStore(), suspicions } as unknown as ReviewWorkspace;
  expect(goToSuspicion(workspace, app, 1)).toBe(false);
  return words;
}

test('that no suspicious place is left is said only where the recording was looked through and all were dealt with', () => {
  expect(said(true)).toBe('No suspicious place is left.');
  expect(said(false)).toBe('The recording is still being analysed.');
  expect(said(false, 'no lead runs at the rate of the marks')).toBe(
    'No suspicious places are known: no lead runs at the rate of the marks.',
  );
});
