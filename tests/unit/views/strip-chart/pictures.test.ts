import { expect, test, vi } from 'vitest';
import { type Picture, Pictures } from '../../../../src/views/strip-chart/pictures';

const picture = () =>
  ({ bitmap: { close: vi.fn() }, dx: 0, dy: 0 }) as unknown as Picture & { bitmap: { close(): void } };

// source: definition: bitmaps are memory that no collector frees in time, and one that was closed draws nothing
test('pictures of words are kept by style and words; of too many the oldest go, closed, and are no longer found', () => {
  const pictures = new Pictures();
  const large = pictures.ofStyle('large');
  const small = pictures.ofStyle('small');
  expect(pictures.ofStyle('large')).toBe(large);
  expect(small).not.toBe(large);
  const made = Array.from({ length: 2000 }, (_, i) => {
    const one = picture();
    pictures.addWords(i % 4 === 0 ? small : large, String(i), one);
    return one;
  });
  const found = (i: number) => (i % 4 === 0 ? small : large).get(String(i));
  for (const [i, one] of made.entries()) {
    expect(found(i)).toBe(vi.mocked(one.bitmap.close).mock.calls.length === 0 ? one : undefined);
    expect(one.bitmap.close).toHaveBeenCalledTimes(found(i) ? 0 : 1);
  }
  expect(large.size + small.size).toBeLessThanOrEqual(800);
  for (const i of [1998, 1999]) expect(found(i)).toBe(made[i]);
});

test('a picture is made again when what it was made from is another, and the old one closed', () => {
  const pictures = new Pictures();
  const first = picture();
  const other = picture();
  expect(pictures.of('lane', [1, 'a'], () => first)).toBe(first);
  expect(pictures.of('lane', [1, 'a'], () => other)).toBe(first);
  expect(pictures.of('lane', [2, 'a'], () => other)).toBe(other);
  expect(first.bitmap.close).toHaveBeenCalledTimes(1);
});
