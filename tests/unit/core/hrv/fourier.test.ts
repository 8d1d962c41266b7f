import fc from 'fast-check';
import { expect, test } from 'vitest';
import { UnevenFourier } from '../../../../src/core/hrv/fourier';
import { amount } from '../../amount';

// The definition itself is the reference: a plain sum for every frequency.
test('sums over uneven places equal the plain sums to eleven digits of what could add up', () => {
  const points = fc.array(
    fc.record({
      angle: fc.double({ min: 0, max: 6.283, noNaN: true }),
      a: fc.double({ min: -100, max: 100, noNaN: true }),
      b: fc.double({ min: -1, max: 1, noNaN: true }),
    }),
    { minLength: 1, maxLength: 60 },
  );
  fc.assert(
    fc.property(points, fc.integer({ min: 0, max: 150 }), (list, most) => {
      const of = (key: 'angle' | 'a' | 'b') => Float64Array.from(list, p => p[key]);
      const fourier = new UnevenFourier(most);
      const found = fourier.sums(of('angle'), of('a'), of('b'));
      const total = list.reduce((sum, { a, b }) => sum + Math.hypot(a, b), 1e-300);
      for (let k = -most; k <= most; k++) {
        let real = 0;
        let imaginary = 0;
        for (const { angle, a, b } of list) {
          real += a * Math.cos(k * angle) + b * Math.sin(k * angle);
          imaginary += b * Math.cos(k * angle) - a * Math.sin(k * angle);
        }
        const at = 2 * fourier.place(k);
        expect(Math.hypot(found[at]! - real, found[at + 1]! - imaginary) / total).toBeLessThan(1e-11);
      }
    }),
    { numRuns: amount(300, 60), seed: 20261129 },
  );
});

test('a second transform does not remember the first', () => {
  const fourier = new UnevenFourier(3);
  const none = Float64Array.of(0);
  fourier.sums(Float64Array.of(1), Float64Array.of(5), none);
  const sums = fourier.sums(Float64Array.of(0), Float64Array.of(2), none);
  expect(sums[2 * fourier.place(-3)]).toBeCloseTo(2, 10);
});
