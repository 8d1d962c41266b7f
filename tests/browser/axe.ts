import { expect, type Page } from '@playwright/test';
import axe from 'axe-core';

/** source: WCAG 2.2, levels A and AA, as axe-core tests them; best practice has the order of headings and the landmarks. */
const rules = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/**
 * What is written by the same code as what stands before it: rows of a table from the fourth to the last but one, words of
 * a figure from the eighth.
 */
const alike = ['tbody tr:nth-of-type(n+4):not(:last-of-type)', 'svg text:nth-of-type(n+8)'];

/**
 * What axe finds, in words short enough to read. Under an open dialog the page takes no part and was looked at before: the
 * dialog alone is looked at. Nothing is kept of what passes, and axe is read once for each page: this makes it quick.
 */
async function findings(page: Page, colourOnly: boolean): Promise<string[]> {
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(axe.source);
  const runOnly: axe.RunOnly = colourOnly
    ? { type: 'rule', values: ['color-contrast'] }
    : { type: 'tag', values: rules };
  const violations = await page.evaluate(
    async ({ exclude, options }) => {
      const { axe: inPage } = window as unknown as { axe: typeof axe };
      const found = await inPage.run(
        { include: [document.querySelector('dialog[open]') ?? document], exclude },
        options,
      );
      return found.violations.flatMap(v => v.nodes.map(n => `${v.id}: ${n.target.join(' ')}`));
    },
    { exclude: alike, options: { runOnly, resultTypes: ['violations'] } satisfies axe.RunOptions },
  );
  return violations;
}

/** Nothing to find in light and in dark, within one visit: what another theme may change is the contrast. */
export async function sound(page: Page, what: string): Promise<void> {
  for (const colorScheme of ['dark', 'light'] as const) {
    await page.emulateMedia({ colorScheme });
    expect.soft(await findings(page, colorScheme === 'dark'), `${what}, ${colorScheme}`).toEqual([]);
  }
}

/** Pixels by which the page is wider than its window. */
export function sideways(page: Page): Promise<number> {
  return page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
}
