import { expect, test } from 'vitest';
import { pairedDifferences } from '../../../src/core/report/quality-table';
import type { ReportData } from '../../../src/core/report/report';
import { defaultStudySettings } from '../../../src/core/report/study-numbers';
import { differencesTable } from '../../../src/report/tables/quality-tables';

/** Quality of each recorder over so many intervals of one volunteer. */
const cell = (volunteer: string, recorder: string, judged: number, wrong: number) => ({
  volunteer,
  recorder,
  activity: 'rest',
  counts: {
    judged,
    right: judged - wrong,
    lost: 0,
    lostUnreadable: 0,
    lostNoSignal: 0,
    wrongByMissed: wrong,
    wrongByWrongPeak: 0,
    wrongByExtra: 0,
  },
});

test('a difference of next to nothing is rounded to 0, and none to 0.01', () => {
  const volunteers = ['V1', 'V2', 'V3', 'V4'];
  const cells = volunteers.flatMap(v => [cell(v, 'A', 100_000, 10), cell(v, 'B', 100_000, 12)]);
  const turned = volunteers.flatMap(v => [cell(v, 'A', 100_000, 12), cell(v, 'B', 100_000, 10)]);
  for (const some of [cells, turned]) {
    const differences = pairedDifferences(some, defaultStudySettings.bootstrap);
    const numbers = { differences, methods: {} };
    const { rows } = differencesTable({ numbers } as unknown as ReportData);
    expect(rows[0]!.at(-1)).toBe('0.00 (0.00)');
    expect(rows[0]!.at(-2)).not.toContain('0.01');
  }
});
