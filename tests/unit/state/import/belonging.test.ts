import { expect, test } from 'vitest';
import { joinLists } from '../../../../src/state/import/belonging';
import { type ImportRow, type Meaning, newRow } from '../../../../src/state/import/row';

let ids = 0;

function row(name: string, meaning: Meaning, more: Partial<ImportRow> = {}): ImportRow {
  return { ...newRow(ids++, new File([], name)), stage: 'asked', meaning, ...more };
}

/** Names of the files that the lists belong to, list by list. */
function owners(rows: readonly ImportRow[]): (string | null)[] {
  const joined = joinLists(rows);
  return joined.flatMap(r =>
    ['text-marks', 'annotations', 'text-segments'].includes(r.meaning)
      ? [joined.find(s => s.id === r.belongsTo)?.file.name ?? null]
      : [],
  );
}

const logger = () => row('logger-minute.edf', 'edf', { recorder: 'adhesive logger' });
const chest = () => row('chest-minute.csv', 'text-signal', { recorder: 'chest-minute' });

test('marks belong to the recorder or file that their name begins with, wherever they stand', () => {
  expect(owners([logger(), chest(), row('chest-minute-marks.csv', 'text-marks')])).toEqual(['chest-minute.csv']);
  expect(owners([row('chest-minute-marks.csv', 'text-marks'), logger(), chest()])).toEqual(['chest-minute.csv']);
  expect(owners([chest(), logger(), row('Adhesive_logger peaks.txt', 'text-marks')])).toEqual(['logger-minute.edf']);
});

test('the longer of two names is meant', () => {
  const rows = [row('V01.edf', 'edf'), row('V01-night.edf', 'edf'), row('V01-night-marks.csv', 'text-marks')];
  expect(owners(rows)).toEqual(['V01-night.edf']);
  const alike = [row('V01.edf', 'edf'), row('V010.edf', 'edf'), row('V010_marks.csv', 'text-marks')];
  expect(owners(alike)).toEqual(['V010.edf']);
});

test('marks whose name says nothing go to the first recorder without any, once all files were looked at', () => {
  const marks = () => row('marks.csv', 'text-marks');
  expect(owners([logger(), chest(), marks(), marks()])).toEqual(['logger-minute.edf', 'chest-minute.csv']);
  expect(owners([logger(), row('chest-minute-marks.csv', 'text-marks'), chest(), marks()])).toEqual([
    'chest-minute.csv',
    'logger-minute.edf',
  ]);
  expect(owners([logger(), marks(), row('later.csv', 'left out', { stage: 'looking' })])).toEqual([null]);
});

test('with names that end alike, marks belong to the recorder whose name has most words in common with theirs', () => {
  const signals = () => ['P01_band_ecg.csv', 'P01_logger_ecg.csv', 'P02_band_ecg.csv'].map(n => row(n, 'text-signal'));
  const lists = () => ['P02_band_marks.csv', 'logger P01 peaks.txt'].map(n => row(n, 'text-marks'));
  const found = ['P02_band_ecg.csv', 'P01_logger_ecg.csv'];
  expect(owners([...signals(), ...lists()])).toEqual(found);
  expect(owners([...lists(), ...signals()])).toEqual(found);
  expect(owners([...signals(), row('band marks.csv', 'text-marks')])).toEqual(['P01_band_ecg.csv']);
});

test('a recorder that comes later and fits better gets the marks, unless the person has said whose they are', () => {
  const [a, b] = [row('P01_ecg.csv', 'text-signal'), row('P02_ecg.csv', 'text-signal')];
  const marks = row('P02_marks.csv', 'text-marks');
  const before = joinLists([a, marks]);
  expect(owners(before)).toEqual(['P01_ecg.csv']);
  expect(owners([...before, b])).toEqual(['P02_ecg.csv']);
  expect(owners([a, { ...marks, belongsTo: a.id, ownerChosen: true }, b])).toEqual(['P01_ecg.csv']);
});

test('what the person decided stays, until its recorder is gone; segments are of every recorder', () => {
  const [a, b] = [logger(), chest()];
  const marks = row('chest-minute-marks.csv', 'text-marks', { belongsTo: a.id, ownerChosen: true });
  expect(owners([a, b, marks])).toEqual(['logger-minute.edf']);
  expect(owners([b, marks])).toEqual(['chest-minute.csv']);
  // What was found instead was not decided by anybody.
  const left = joinLists([row('wrist.edf', 'edf'), marks]);
  expect(owners([...left, b])).toEqual(['chest-minute.csv']);
  expect(owners([a, b, row('chest-minute-segments.csv', 'text-segments')])).toEqual([null]);
});
