import { expect, test } from 'vitest';
import { checkSnappy } from '../../../../src/formats/arrays/snappy';

// source: google/snappy, format_description.txt (from memory): a varint of the length, then literals (tag 00, length - 1 in
// the upper six bits, or in 1 to 4 bytes from 60 on) and copies (tags 01, 10, 11 with 1, 2 and 4 bytes of offset)
const literal = (n: number) => [(n - 1) << 2, ...new Array<number>(n).fill(7)];

test.each([
  ['a literal', [5, ...literal(5)], 5],
  ['a literal whose length has a byte of its own', [70, 60 << 2, 69, ...new Array<number>(70).fill(7)], 70],
  ['copies of each kind', [26, ...literal(4), (3 << 2) | 1, 4, (9 << 2) | 2, 4, 0, (4 << 2) | 3, 4, 0, 0, 0], 26],
  ['a length of two bytes', [0xac, 0x02, 61 << 2, 0x2b, 0x01, ...new Array<number>(300).fill(7)], 300],
  ['nothing', [0], 0],
])('%s is sound', (_, bytes, length) => {
  expect(() => checkSnappy(Uint8Array.from(bytes), length)).not.toThrow();
});

test.each([
  ['a literal of 4 GiB, which runs backwards where lengths have a sign', [5, 63 << 2, 0xfa, 0xff, 0xff, 0xff, 1], 5],
  ['a literal that is cut off', [5, 4 << 2, 7, 7], 5],
  ['more than is said', [5, ...literal(9)], 5],
  ['less than is said', [9, ...literal(5)], 9],
  ['a copy that is cut off', [10, ...literal(4), (5 << 2) | 2, 4], 10],
])('%s is refused', (_, bytes, length) => {
  expect(() => checkSnappy(Uint8Array.from(bytes), length)).toThrow('do not hold');
});
