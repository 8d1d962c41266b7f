import { describe, expect, test } from 'vitest';
import type { BoardLine } from '../../../../src/state/sharing/board-line';
import { boardTotals, everything, filtered } from '../../../../src/views/lab-store/board-filter';
import { boardLine } from './line';

const end = (entries: number) => ({ entries, head: 'a'.repeat(64), at: '2026-02-14T09:00:00Z' });
const line = (rater: string, part: Partial<BoardLine> = {}) => boardLine({ rater, due: '2026-02-20', ...part });
const minutes = (n: number) => ({ minutes: n }) as NonNullable<BoardLine['progress']>;

const lines = [
  line('R1', { branches: [end(5)], progress: minutes(100), signedOffAt: '2026-02-19T09:00:00Z', signedOffEntries: 5 }),
  line('R2', { branches: [end(3)], progress: minutes(20) }),
  line('R3', { session: 'V02-pm', title: 'V02, evening' }),
  line('R4', { branches: [end(4), end(3)], due: null }),
  line('R5', { signedOffAt: '2026-02-19T09:00:00Z', signedOffEntries: 0 }),
];
const raters = (part: Partial<typeof everything>, today = '2026-02-21') =>
  filtered(lines, { ...everything, ...part }, today).map(l => l.rater);

// source: counted by hand
describe('filters and totals of the board', () => {
  test('by state: a line that is due today is not overdue, nor is one without a date', () => {
    expect(raters({})).toEqual(['R1', 'R2', 'R3', 'R4', 'R5']);
    expect(raters({ state: 'not begun' })).toEqual(['R3']);
    expect(raters({ state: 'under way' })).toEqual(['R2', 'R4']);
    expect(raters({ state: 'signed off' })).toEqual(['R1', 'R5']);
    expect(raters({ state: 'overdue' })).toEqual(['R2', 'R3']);
    expect(raters({ state: 'overdue' }, '2026-02-20')).toEqual([]);
    // A fork, and a sign-off without any entry.
    expect(raters({ state: 'needs you' })).toEqual(['R4', 'R5']);
  });

  test('by rater and by a part of the session’s name, together', () => {
    expect(raters({ rater: 'R3' })).toEqual(['R3']);
    expect(raters({ session: ' EVENING ' })).toEqual(['R3']);
    expect(raters({ session: 'v02-' })).toEqual(['R3']);
    expect(raters({ rater: 'R1', session: 'V02' })).toEqual([]);
  });

  test('totals are of all lines', () => {
    expect(boardTotals(lines, '2026-02-21')).toBe(
      '2 of 5 signed off, 2 under way, 1 not begun, 2 overdue, 2 need you; 2.0 h at work',
    );
    const one = boardTotals(
      lines.filter(l => l.rater === 'R4'),
      '2026-02-21',
    );
    expect(one).toContain(', 1 needs you;');
    expect(boardTotals([], '2026-02-21')).toBe('0 of 0 signed off, 0 under way, 0 not begun, 0 overdue; 0 min at work');
  });
});
