import { describe, expect, test } from 'vitest';
import { patternProblem, readName } from '../../../../../src/core/review/study/naming';

describe('names of a study’s files', () => {
  test.each([
    ['{participant}_{recorder}*', 'V01_chest band.edf', 'V01', 'chest band', null],
    ['{participant}_{recorder}*', 'day 1/V01_chest-band_marks.csv', 'V01', 'chest-band', null],
    ['{participant}/{recorder}', 'study/V02/adhesive_logger.csv.gz', 'V02', 'adhesive logger', null],
    ['{participant}-{activity}-{recorder}', 'V03-sled_haul-chest.edf', 'V03', 'chest', 'sled haul'],
    ['ecg {participant} ({recorder})', 'ecg V04 (logger).edf', 'V04', 'logger', null],
    ['{participant}', 'V05.zip', 'V05', null, null],
  ])('%s reads %s', (pattern, path, participant, recorder, activity) => {
    expect(readName(pattern, path)).toEqual({ participant, recorder, activity });
  });

  test('a name that does not fit is told as such', () => {
    expect(readName('{participant}_{recorder}', 'V01.edf')).toBeNull();
    expect(readName('{participant}/{recorder}', 'V01.edf')).toBeNull();
  });

  test('a pattern that cannot work says why', () => {
    expect(patternProblem('{participant}_{recorder}*')).toBeNull();
    expect(patternProblem('{recorder}')).toContain('{participant}');
    expect(patternProblem('{participant}_{name}')).toContain('{name} is not known');
    expect(patternProblem('{participant}{recorder}')).toContain('touch');
    expect(patternProblem('{participant}_{participant}')).toContain('twice');
  });
});
