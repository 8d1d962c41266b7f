import { expect, test } from 'vitest';
import { createPrefsStore } from '../../../../src/state/stores/prefs-store';

test('while somebody is signed in, the code is that of the account', async () => {
  const prefs = createPrefsStore();
  const code = () => prefs.getState().rater;
  prefs.change({ rater: 'R7' });
  expect(code()).toBe('R7');
  prefs.signedInAs('R1');
  prefs.change({ rater: 'R7', theme: 'dark' });
  await prefs.load();
  expect(code()).toBe('R1');
  expect(prefs.getState().theme).toBe('dark');
  prefs.signedInAs(null);
  prefs.change({ rater: 'R7' });
  expect(code()).toBe('R7');
});
