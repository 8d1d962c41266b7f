import { type CDPSession, expect, type Page, test } from '@playwright/test';
import { fiveMinutes } from './five-minutes';
import { type Layout, layouts } from './layouts';
import { openBundle } from './page';

const { session, bundle } = fiveMinutes();

/** What the browser reports when the key that types a sign, or sits at its place, goes down. */
async function press(cdp: CDPSession, { keys }: Layout, [code, shift]: readonly [string, boolean], ctrl = false) {
  const key = keys[code]![shift ? 1 : 0];
  const modifiers = (shift ? 8 : 0) + (ctrl ? 2 : 0);
  await cdp.send('Input.dispatchKeyEvent', { type: 'rawKeyDown', key, code, modifiers });
  await cdp.send('Input.dispatchKeyEvent', { type: 'keyUp', key, code, modifiers });
}

/** The key that types a sign; else the one at its place on a US keyboard. */
function keyFor({ keys }: Layout, sign: string, place: string, shift = false): readonly [string, boolean] {
  const own = Object.entries(keys).find(([, both]) => both.includes(sign));
  return own ? [own[0], own[1][1] === sign] : [place, shift];
}

const said = (page: Page) => page.getByTestId('said');

for (const layout of layouts)
  test(`every kind of key works on a ${layout.name} keyboard`, async ({ page }) => {
    await openBundle(page, 'five-minutes.zip', bundle, session.title);
    const cdp = await page.context().newCDPSession(page);
    const key = (sign: string, place: string, shift = false) => press(cdp, layout, keyFor(layout, sign, place, shift));
    await key('k', 'KeyK');
    await expect(said(page)).toHaveText('Kept.');
    await key('z', 'KeyZ');
    await expect(said(page)).toHaveText('Undone: keeping.');
    await press(cdp, layout, [keyFor(layout, 'z', 'KeyZ')[0], true], true);
    await expect(said(page)).toHaveText('Redone: keeping.');
    await press(cdp, layout, keyFor(layout, 'z', 'KeyZ'), true);
    await expect(said(page)).toHaveText('Undone: keeping.');
    await key('.', 'Period');
    await expect(said(page)).toHaveText(/^Moved by \+\d+ ms\.$/);
    await key('<', 'Comma', true);
    await expect(said(page)).toHaveText(/^Moved by −1[02] ms\.$/);
    await page.keyboard.press('F3');
    await expect(said(page)).toHaveText('Choose a count in the ledger to step through its occurrences.');
    const before = await page.getByTestId('beat-description').textContent();
    await key('}', 'BracketRight', true);
    await expect(page.getByTestId('beat-description')).not.toHaveText(before!);
    await key('{', 'BracketLeft', true);
    await expect(page.getByTestId('beat-description')).toHaveText(before!);
    await key('2', 'Digit2');
    await expect(said(page)).toHaveText(/50 Hz/);
    await key('?', 'Slash', true);
    await expect(page.getByRole('dialog')).toContainText('What the keys do');
    const label = layout.keys['KeyJ']![0].toUpperCase();
    const cap = page.getByRole('button', { name: /^Key for next place worth a look on this page/ });
    await expect(cap).toHaveText(label);
  });
