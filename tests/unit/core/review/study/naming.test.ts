import { describe, expect, test } from 'vitest';
import {
  patternProblem,
  patternsOf,
  patternsProblem,
  readName,
  readNameBy,
} from '../../../../../src/core/review/study/naming';

describe('names of a study’s files', () => {
  test.each([
    ['{participant}_{recorder}*', 'V01_chest band.edf', 'V01', 'chest band', null],
    ['{participant}_{recorder}*', 'day 1/V01_chest-band_marks.csv', 'V01', 'chest-band', null],
    ['{participant}/{recorder}', 'study/V02/adhesive_logger.csv.gz', 'V02', 'adhesive logger', null],
    ['{participant}-{activity}-{recorder}', 'V03-sled_haul-chest.edf', 'V03', 'chest', 'sled haul'],
    ['ecg {participant} ({recorder})', 'ecg V04 (logger).edf', 'V04', 'logger', null],
    ['{participant}', 'V05.zip', 'V05', null, null],
    ['{ignore}_{participant}_ECG_{recorder}', '0042_V06_ecg_chest.edf', 'V06', 'chest', null],
    ['ecg*-{participant}_{recorder}', 'ecg final-V07_logger.edf', 'V07', 'logger', null],
    ['{participant}_*_{recorder}', 'V08_a_b_c_logger.edf', 'V08', 'logger', null],
    ['{ignore}/{participant}/{ignore} {recorder}', 'study/day 2/V09/01 chest_band.csv', 'V09', 'chest band', null],
    ['{participant}.{recorder}.v*', 'V10.logger.v2.csv', 'V10', 'logger', null],
  ])('%s reads %s', (pattern, path, participant, recorder, activity) => {
    expect(readName(pattern, path)).toEqual({ participant, recorder, activity, date: null });
  });

  // source: ISO 8601, and day first with separators (common practice)
  test.each([
    ['V01_2026-03-14_chest.edf', '2026-03-14'],
    ['V01_20260314_chest.edf', '2026-03-14'],
    ['V01_14.03.2026_chest.edf', '2026-03-14'],
    ['V01_14-03-2026_chest.edf', '2026-03-14'],
    ['V01_2026-02-29_chest.edf', null],
    ['V01_260314_chest.edf', null],
    ['V01_14032026_chest.edf', null],
  ])('a date is read where it is one: %s', (path, date) => {
    expect(readName('{participant}_{date}_{recorder}', path)?.date ?? null).toBe(date);
  });

  test('of several patterns the first that fits counts', () => {
    const patterns = patternsOf(' {participant}_band* \n\nlog-{date}-{participant}\n');
    expect(patterns).toEqual(['{participant}_band*', 'log-{date}-{participant}']);
    expect(readNameBy(patterns, 'V01_band_beats.csv')).toMatchObject({ pattern: 0, named: { participant: 'V01' } });
    const second = { pattern: 1, named: { participant: 'V02', date: '2026-09-12' } };
    expect(readNameBy(patterns, 'log-2026-09-12-V02.csv')).toMatchObject(second);
    expect(readNameBy(patterns, 'overview.csv')).toBeNull();
  });

  test('a name that does not fit is reported as such', () => {
    expect(readName('{participant}_{recorder}', 'V01.edf')).toBeNull();
    expect(readName('{participant}/{recorder}', 'V01.edf')).toBeNull();
  });

  test('a pattern that cannot work says why', () => {
    expect(patternProblem('{participant}_{recorder}*')).toBeNull();
    expect(patternProblem('{recorder}')).toContain('{participant}');
    expect(patternProblem('{participant}_{name}')).toContain('{name} is not known');
    expect(patternProblem('{participant}{recorder}')).toContain('touch');
    expect(patternProblem('{participant}_{participant}')).toContain('twice');
    expect(patternProblem('{ignore}_{participant}_{ignore}')).toBeNull();
    expect(patternProblem('*{participant}')).toContain('what follows it');
    expect(patternsProblem(' \n')).toContain('A pattern is needed');
    expect(patternsProblem('{participant}\n{date}')).toBe(
      '{date}: {participant} is required: without it files cannot be told apart.',
    );
    expect(patternsProblem('{participant}_{date}\n{participant}-{recorder}*')).toBeNull();
  });
});
