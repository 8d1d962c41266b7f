import { type Browser, expect, type Page, test } from '@playwright/test';
import type { Session } from '../../src/core/review/session';
import { writeBundle } from '../../src/formats/bundle/writer';
import { markedSession, words } from '../unit/state/export/marked';
import { exported, openBundle } from './page';

/** The same signal, marks and plan under other names, codes, dates and files. */
const one = plain(markedSession().session, '2019-08-07T07:31:47');
const other = plain(markedSession().session, '2031-11-23T18:04:05');

function plain({ samples: _, ...session }: Session, startedAt: string): Session {
  const recordings = session.recordings.map(r => ({ ...r, recording: { ...r.recording, startedAt } }));
  return { ...session, recordings };
}

/** The strip as PNG with nothing left out, and then with everything, from a page of its own. */
async function picturesOf(
  browser: Browser,
  baseURL: string,
  session: Session,
): Promise<{ kept: Buffer; left: Buffer }> {
  const context = await browser.newContext({ baseURL });
  const page = await context.newPage();
  await openBundle(
    page,
    'one.zip',
    writeBundle({ session, logs: [] }, () => words),
    session.title,
  );
  const kept = await pictureAtRest(page, false);
  const left = await pictureAtRest(page, true);
  await context.close();
  return { kept, left };
}

/** What is found in the signal is drawn as it is found: the picture is taken once it has come to rest. */
async function pictureAtRest(page: Page, leftOut: boolean): Promise<Buffer> {
  const taken: Buffer[] = [];
  const picture = async () => {
    await page.keyboard.press('e');
    if (leftOut) {
      await page.getByLabel('dates of the recordings').selectOption('drop');
      for (const box of await page.getByLabel(/^leave out/).all()) await box.check();
    }
    const [file] = await exported(page, 'Strip picture, PNG');
    await expect(page.getByRole('dialog')).toHaveCount(0);
    taken.unshift(file!.bytes);
    return taken.length > 2 && taken.slice(1, 3).every(before => before.equals(file!.bytes));
  };
  await expect.poll(picture, { timeout: 60_000, intervals: [200] }).toBe(true);
  return taken[0]!;
}

// Words in pixels cannot be searched for: two pictures that differ in nothing else must be one and the same.
test('with everything left out, not one pixel of a picture tells whose strip it is', async ({ browser, baseURL }) => {
  const [a, b] = [await picturesOf(browser, baseURL!, one), await picturesOf(browser, baseURL!, other)];
  expect(a.left.equals(b.left)).toBe(true);
  expect(a.kept.equals(b.kept)).toBe(false);
  expect(pixels(a.kept).equals(pixels(b.kept))).toBe(false);
  expect(pixels(a.left).length).toBeGreaterThan(1000);
});

/** Packed pixels alone: the IDAT chunks (PNG specification, third edition, 5.3: length, name, data, CRC). */
function pixels(png: Buffer): Buffer {
  const parts: Buffer[] = [];
  for (let at = 8; at < png.length; at += 12 + png.readUInt32BE(at)) {
    if (png.toString('latin1', at + 4, at + 8) === 'IDAT')
      parts.push(png.subarray(at + 8, at + 8 + png.readUInt32BE(at)));
  }
  return Buffer.concat(parts);
}
