import { expect, test } from 'vitest';
import { restedTag } from '../../../src/remote/rested';

// source: HTTP dates are whole seconds (RFC 9110, section 5.6.7), so that two changes of one second look alike.
test('a tag is relied on once nothing has changed for two seconds', () => {
  const now = Date.parse('Sat, 14 Feb 2026 09:00:10 GMT');
  const tag = (second: string, at = now) => restedTag('t', `Sat, 14 Feb 2026 09:00:${second} GMT`, at);
  expect(tag('08')).toBe('t');
  expect(tag('09')).toBe('');
  expect(tag('10')).toBe('');
  // A clock of the file system that is ahead, and servers that say no time.
  expect(tag('30')).toBe('');
  expect(tag('08', Number.NaN)).toBe('');
  expect(restedTag('t', '', now)).toBe('');
});
