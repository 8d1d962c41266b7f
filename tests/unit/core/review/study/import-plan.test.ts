import { describe, expect, test } from 'vitest';
import { type FileKind, planImport } from '../../../../../src/core/review/study/import-plan';
import { defaultNamingPattern, readName } from '../../../../../src/core/review/study/naming';

const kinds: Record<string, FileKind> = { edf: 'signal', zip: 'bundle' };

/** Kinds by the words of the names, as a look at the contents would find them. */
function plan(paths: readonly string[], pattern = defaultNamingPattern, unwanted: readonly string[] = []) {
  return planImport(
    paths.map(path => ({
      path,
      wanted: !unwanted.includes(path),
      named: readName(pattern, path),
      kind: /segments/.test(path)
        ? 'segments'
        : /beats/.test(path)
          ? 'marks'
          : (kinds[path.slice(path.lastIndexOf('.') + 1)] ?? null),
      problem: path.endsWith('.txt') ? 'it is no recording and no list' : null,
    })),
  );
}

const words = (p: ReturnType<typeof plan>) => p.places.map(x => x.becomes);

describe('what files of a folder become', () => {
  // source: definition; the rules are written above each function
  test('recordings, their marks, and segments that hold for all recorders of a volunteer', () => {
    const made = plan([
      'day/V01_chest-band.edf',
      'day/V01_chest-band_beats.csv',
      'day/V01_logger.edf',
      'day/V01_logger-beats.csv',
      'day/V01_segments.csv',
      'day/V02-study.zip',
    ]);
    expect(words(made)).toEqual([
      'recording of V01, chest-band',
      'marks of V01, chest-band',
      'recording of V01, logger',
      'marks of V01, logger',
      'segments of V01, 2 recordings',
      'session, as the bundle says',
    ]);
    expect(made.recordings).toEqual([
      {
        participant: 'V01',
        recorder: 'chest-band',
        activity: null,
        date: null,
        signal: 0,
        marks: 1,
        segments: [4],
        annotations: [],
      },
      {
        participant: 'V01',
        recorder: 'logger',
        activity: null,
        date: null,
        signal: 2,
        marks: 3,
        segments: [4],
        annotations: [],
      },
    ]);
    expect(made.bundles).toEqual([5]);
  });

  test('activities are recordings of their own', () => {
    const made = plan(
      ['V01_band_haul.edf', 'V01_band_hike.edf', 'V01_band_haul_beats.csv', 'V01_band_hike_beats.csv'],
      '{participant}_{recorder}_{activity}*',
    );
    expect(made.recordings.map(r => [r.activity, r.signal, r.marks])).toEqual([
      ['haul', 0, 2],
      ['hike', 1, 3],
    ]);
  });

  test('dates tell the days of a volunteer apart, and lists go with their day', () => {
    const made = plan(
      ['V01_2026-09-12_band.edf', 'V01_2026-09-13_band.edf', 'V01_2026-09-13_band_beats.csv'],
      '{participant}_{date}_{recorder}*',
    );
    expect(made.recordings.map(r => [r.date, r.signal, r.marks])).toEqual([
      ['2026-09-12', 0, null],
      ['2026-09-13', 1, 2],
    ]);
    expect(words(made)[1]).toBe('recording of V01, band, 2026-09-13');
  });

  test('what is left out says why', () => {
    const made = plan([
      'notes.txt',
      'overview.edf',
      'V01_band.edf',
      'V01_band_beats.csv',
      'V01_band_beats2.csv',
      'V02_band.edf',
      'V02_band_again.edf',
      'V03_band_beats.csv',
    ]);
    expect(words(made)).toEqual([
      'left out: it is no recording and no list',
      'left out: the name fits no pattern',
      'recording of V01, band',
      'marks of V01, band',
      'left out: V01, band has marks from V01_band_beats.csv',
      'left out: V02_band_again.edf is an ECG with the same names; tell them apart by {recorder}, {activity} or {date}',
      'left out: V02_band.edf is an ECG with the same names; tell them apart by {recorder}, {activity} or {date}',
      'left out: there is no recording of V03 among these files',
    ]);
    expect(made.recordings).toHaveLength(1);
  });

  test('marks that could belong to two recorders belong to none', () => {
    const made = plan(['V01_band.edf', 'V01_logger.edf', 'V01_beats.csv']);
    expect(words(made)[2]).toBe('left out: its name does not say which recorder the marks are of');
  });

  test('a file that is not wanted takes nothing along', () => {
    const made = plan(['V01_band.edf', 'V01_band_beats.csv'], defaultNamingPattern, ['V01_band.edf']);
    expect(words(made)).toEqual(['left out by you', 'left out: there is no recording of V01 among these files']);
  });
});
