import AxeBuilder from '@axe-core/playwright';
import { expect, type Page } from '@playwright/test';

/** source: WCAG 2.2, levels A and AA, as axe-core tests them; best practice has the order of headings and the landmarks. */
const rules = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/** What is written by the same code as what stands before it: rows of a table from the fourth to the last but one, words of a figure from the eighth on. */
const alike = ['tbody tr:nth-of-type(n+4):not(:last-of-type)', 'svg text:nth-of-type(n+8)'];

/**
 * What axe finds, in words short enough to read. Nothing is kept of what passes, and its results are put together in the
 * page itself, as there are no frames: both together halve its time.
 */
async function findings(page: Page, colourOnly: boolean): Promise<string[]> {
  const runOnly = colourOnly
    ? { type: 'rule' as const, values: ['color-contrast'] }
    : { type: 'tag' as const, values: rules };
  const axe = new AxeBuilder({ page }).options({ runOnly, resultTypes: ['violations'] }).setLegacyMode();
  for (const more of alike) axe.exclude(more);
  const { violations } = await axe.analyze();
  return violations.flatMap(v => v.nodes.map(n => `${v.id}: ${n.target.join(' ')}`));
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
