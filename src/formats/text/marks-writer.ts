import type { Marks } from '../../core/marks/markset';

/**
 * Marks as text: one column `sample` (0-based), or `time_s` to the microsecond, or `rr_ms` (intervals only: the place of
 * the first beat is not in the file).
 */
export function marksText(marks: Marks, samplingRateHz: number, unit: 'sample' | 's' | 'rr-ms' = 'sample'): string {
  if (unit === 'sample') return list('sample', Array.from(marks, String));
  if (unit === 's')
    return list(
      'time_s',
      Array.from(marks, m => (m / samplingRateHz).toFixed(6)),
    );
  const intervals: string[] = [];
  for (let i = 1; i < marks.length; i++)
    intervals.push((((marks[i]! - marks[i - 1]!) * 1000) / samplingRateHz).toFixed(3));
  return list('rr_ms', intervals);
}

function list(header: string, cells: readonly string[]): string {
  return `${[header, ...cells].join('\n')}\n`;
}
