import { expect, test } from 'vitest';
import type { NamedFile } from '../../../../src/core/review/study/naming';
import { type ChosenStudyFile, readNames, withCorrections } from '../../../../src/state/study/files';
import { newStudy } from '../../../../src/state/study/studies';

test('what a person says of a file goes before its name, and is kept with the study', () => {
  const patterns = '{participant}_band*\nlog-{date}-{participant}';
  const file = (path: string, corrected: NamedFile | null = null) => ({ path, corrected }) as ChosenStudyFile;
  const said = { participant: 'V03', recorder: null, activity: 'rest', date: null };
  const files = [file('overview.csv', said), file('V01_band.csv'), file('notes.csv')];
  expect(readNames(files, patterns).map(r => [r.named?.participant ?? null, r.pattern])).toEqual([
    ['V03', null],
    ['V01', 0],
    [null, null],
  ]);
  const study = { ...newStudy('t', new Date(0)), namedFiles: { 'notes.csv': said, 'other day.csv': said } };
  expect(withCorrections(study, files).namedFiles).toEqual({ 'overview.csv': said, 'other day.csv': said });
  expect(withCorrections(newStudy('t', new Date(0)), files.slice(1))).not.toHaveProperty('namedFiles');
});
