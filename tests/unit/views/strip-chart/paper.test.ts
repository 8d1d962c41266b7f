import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';

const css = readFileSync(join(import.meta.dirname, '../../../../src/views/paper.css'), 'utf8');

function inks(theme: 0 | 1): Map<string, string> {
  const found = css.matchAll(/--([\w-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\)/g);
  return new Map([...found].map(m => [m[1]!, m[2 + theme]!]));
}

// source: WCAG 2.2, relative luminance and contrast ratio
function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map(i => {
    const c = Number.parseInt(hex.slice(i, i + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(a: string, b: string): number {
  const [hi, lo] = [luminance(a), luminance(b)].sort((x, y) => y - x) as [number, number];
  return (hi + 0.05) / (lo + 0.05);
}

describe.each([
  ['light', 0],
  ['dark', 1],
] as const)('%s paper', (_name, theme) => {
  const ink = inks(theme);

  // source: WCAG 2.2 success criteria 1.4.3 (text 4.5:1) and 1.4.11 (graphics 3:1)
  it.each(['ink', 'ink-soft', 'trace', 'accent', 'needs-you-ink'])('%s sets text on every sheet', name => {
    for (const sheet of ['paper', 'paper-raised'])
      expect(contrast(ink.get(name)!, ink.get(sheet)!)).toBeGreaterThanOrEqual(4.5);
  });

  it.each(['needs-you', 'hatch', 'accent'])('%s marks stand out', name => {
    for (const sheet of ['paper', 'paper-raised'])
      expect(contrast(ink.get(name)!, ink.get(sheet)!)).toBeGreaterThanOrEqual(3);
  });

  it('shows the grid and keeps it behind the trace', () => {
    expect(contrast(ink.get('grid-bold')!, ink.get('paper')!)).toBeGreaterThan(1.25);
    expect(contrast(ink.get('grid-bold')!, ink.get('paper')!)).toBeLessThan(2);
    expect(contrast(ink.get('trace')!, ink.get('grid-bold')!)).toBeGreaterThanOrEqual(7);
  });
});
