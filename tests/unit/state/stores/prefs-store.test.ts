import { expect, test } from 'vitest';
import { createPrefsStore, keptWith } from '../../../../src/state/stores/prefs-store';

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

test('of keys and settlements only what this tab changed or took away is kept', () => {
  const before = {
    ...createPrefsStore().getState(),
    keys: { 'time.go': ['8'], 'rows.change': ['5'] },
    supervises: { busy: 'S1', calm: 'S1' },
  };
  // Another tab has given one more command a key, given another key to one, and begun to settle another session.
  const stored = {
    theme: 'dark' as const,
    keys: { 'time.go': ['9'], 'rows.change': ['5'], 'export.open': ['F9'] },
    supervises: { busy: 'S1', calm: 'S1', new: 'S2' },
  };
  const { 'rows.change': _, ...without } = before.keys;
  expect(keptWith(stored, before, { keys: { ...without, 'edit.undo': ['0'] } })).toEqual({
    ...stored,
    keys: { 'time.go': ['9'], 'export.open': ['F9'], 'edit.undo': ['0'] },
  });
  expect(keptWith(stored, before, { supervises: { calm: 'S3' } }).supervises).toEqual({ calm: 'S3', new: 'S2' });
});
