import { createHash } from 'node:crypto';
import { expect, test } from 'vitest';
import { hashOfText } from '../../../../src/core/marks/text-hash';
import { randomFrom } from '../../../../src/core/random';

// source: Node's own cryptography
const expected = (text: string) => createHash('sha256').update(text, 'utf8').digest('hex');

// source: FIPS 180-2, appendix B
test.each([
  ['abc', 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'],
  [
    'abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq',
    '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1',
  ],
])('%s', (text, hash) => {
  expect(hashOfText(text)).toBe(hash);
});

test('texts of every length up to a few blocks', () => {
  const random = randomFrom('texts');
  for (let length = 0; length < 300; length++) {
    const text = String.fromCharCode(...Array.from({ length }, () => random.integer(128)));
    expect(hashOfText(text)).toBe(expected(text));
  }
});

test.each([16_319, 16_320, 16_321, 100_000])('a text of %i characters', length => {
  const text = 'seventeen letters'.repeat(Math.ceil(length / 17)).slice(0, length);
  expect(hashOfText(text)).toBe(expected(text));
});

test.each(['é', 'Übergang bei 12 µV', '心電図', 'a\u0080', '🫀 and what follows', '\u0000', 'lone \ud800'])(
  'other letters: %j',
  text => {
    expect(hashOfText(text)).toBe(expected(text));
    // What one text left behind does not reach the next.
    expect(hashOfText('abc')).toBe(expected('abc'));
  },
);
