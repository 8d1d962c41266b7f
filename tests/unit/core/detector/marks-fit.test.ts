import { describe, expect, test } from 'vitest';
import { fitDoubt, fitMarks } from '../../../../src/core/detector/marks-fit';
import { marksFrom } from '../../../../src/core/marks/markset';

const hz = 250;
/** Uneven, so that no whole shift lays the beats on each other. */
const beats = marksFrom(Array.from({ length: 300 }, (_, i) => 150 + 200 * i + Math.round(30 * Math.sin(i * 1.7))));
const moved = (f: (b: number) => number) => fitMarks(marksFrom(Array.from(beats, b => Math.round(f(b)))), beats, hz)!;

// source: what was done to the marks
describe('marks against the beats that were found', () => {
  test('need no word when they lie on them', () => {
    const fit = moved(b => b + (b % 3) - 1);
    expect(fit).toEqual({ overlap: 1, remedy: null, fromOne: false });
    expect(fitDoubt(fit, hz)).toBeNull();
  });

  test('counted at another rate name it', () => {
    const fit = moved(b => (b * 500) / hz);
    expect(fit.overlap).toBeLessThan(0.5);
    expect(fit.remedy).toMatchObject({ rateHz: 500, shiftSeconds: 0, overlap: 1 });
    expect(fitDoubt(fit, hz)).toMatch(/If they were counted at 500 Hz, not 250 Hz, 100 % do\.$/);
  });

  test('shifted by a constant name it', () => {
    const fit = moved(b => b + 1.2 * hz);
    expect(fit.remedy!.rateHz).toBeNull();
    expect(fit.remedy!.shiftSeconds).toBeCloseTo(-1.2, 2);
    expect(fitDoubt(fit, hz)).toMatch(/If they are moved by -1.20 s, 100 % do\.$/);
  });

  test('counted from 1 are noticed', () => {
    expect(
      fitDoubt(
        moved(b => b + 1),
        hz,
      ),
    ).toMatch(/exactly one sample after its peak: do the samples count from 1/);
  });

  test('of another recording are only doubted', () => {
    const other = marksFrom(Array.from({ length: 300 }, (_, i) => 70 + 171 * i + Math.round(60 * Math.sin(i * i))));
    const fit = fitMarks(other, beats, hz)!;
    expect(fit.remedy).toBeNull();
    expect(fitDoubt(fit, hz)).toMatch(/^Only \d+ % of the marks .* Are they marks of this recording\?$/);
  });

  test('too few are not judged', () => {
    expect(fitMarks(beats.subarray(0, 19), beats, hz)).toBeNull();
  });
});
