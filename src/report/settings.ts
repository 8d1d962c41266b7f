import type { ReportData } from '../core/report/report';

/** Every setting with its value, by its path in report.json. */
export function settingRows(data: ReportData): (readonly [string, string])[] {
  const { protocol: _, ...study } = data.study ?? { protocol: '' };
  return [
    ['written by', data.writtenBy],
    ...flattened('settings', data.settings),
    ...(data.study ? flattened('study', study) : []),
    ...flattened('method', data.numbers.methods),
  ];
}

function flattened(path: string, value: unknown): (readonly [string, string])[] {
  if (Array.isArray(value) && value.every(v => typeof v !== 'object')) return [[path, value.join(', ') || 'none']];
  if (value === null || typeof value !== 'object')
    return [[path, value === '' || value === null ? 'none' : String(value)]];
  const parts = Object.entries(value);
  return parts.length === 0 ? [[path, 'none']] : parts.flatMap(([key, v]) => flattened(`${path}.${key}`, v));
}
