import { type CDPSession, expect, type Page, test } from '@playwright/test';
import { fiveMinutes } from './five-minutes';
import { column, exported, openBundle } from './page';

const { session, bundle, plant } = fiveMinutes();
const rateHz = 250;
/** source: CSS, where a millimetre is 96/25.4 px; 25 mm/s is the page's first paper speed. */
const pxPerSecond = (25 * 96) / 25.4;
/** Left column with the names of the lanes. */
const gutterPx = 124;

test.use({ hasTouch: true, viewport: { width: 1024, height: 768 } });

interface Point {
  readonly x: number;
  readonly y: number;
}

/** Touches as the system reports them: through the browser's own gesture handling, not as made-up page events. */
async function touch(cdp: CDPSession, type: 'touchStart' | 'touchMove' | 'touchEnd', ...points: Point[]) {
  await cdp.send('Input.dispatchTouchEvent', { type, touchPoints: points.map((p, id) => ({ ...p, id })) });
}

async function slide(cdp: CDPSession, from: readonly Point[], to: readonly Point[]) {
  await touch(cdp, 'touchStart', ...from);
  for (let step = 1; step <= 8; step++) {
    const at = (a: number, b: number) => a + ((b - a) * step) / 8;
    await touch(cdp, 'touchMove', ...from.map((p, i) => ({ x: at(p.x, to[i]!.x), y: at(p.y, to[i]!.y) })));
  }
  await touch(cdp, 'touchEnd');
}

async function surface(cdp: CDPSession, from: Point, to: Point) {
  const at = (type: 'mousePressed' | 'mouseMoved' | 'mouseReleased', { x, y }: Point, buttons: number) =>
    cdp.send('Input.dispatchMouseEvent', { type, x, y, button: 'left', buttons, clickCount: 1, pointerType: 'pen' });
  await at('mousePressed', from, 1);
  await at('mouseMoved', { x: (from.x + to.x) / 2, y: to.y }, 1);
  await at('mouseMoved', to, 1);
  await at('mouseReleased', to, 0);
}

/** Seconds that the description of the beat names first. */
async function toldSeconds(page: Page): Promise<number> {
  const text = (await page.getByTestId('beat-description').textContent())!;
  return Number(/(\d+\.\d{3}) s/.exec(text)![1]);
}

test('a finger and a pen move a mark, two fingers push and zoom the paper, and the page stays', async ({ page }) => {
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  await page.keyboard.press('Home');
  const cdp = await page.context().newCDPSession(page);
  const strip = (await page.locator('.strip-host').boundingBox())!;
  const mark = plant.detected[3]! / rateHz;
  const y = strip.y + strip.height * 0.1;
  const on = (seconds: number): Point => ({ x: strip.x + gutterPx + seconds * pxPerSecond, y });
  const beside = (p: Point, dx: number, dy = 0): Point => ({ x: p.x + dx, y: p.y + dy });
  const told = page.getByTestId('beat-description');

  // Put down beside the mark, as fingers are, and taken on a slant: the page below must not scroll instead.
  await slide(cdp, [beside(on(mark), 15)], [beside(on(mark), 35, 60)]);
  await expect(told).toContainText('moved');
  expect(Math.abs((await toldSeconds(page)) - mark - 20 / pxPerSecond)).toBeLessThan(2 / rateHz);
  expect(await page.evaluate(() => [scrollX, scrollY])).toEqual([0, 0]);

  const moved = await toldSeconds(page);
  await surface(cdp, beside(on(moved), 10), beside(on(moved), -4));
  await expect.poll(() => toldSeconds(page)).toBeLessThan(moved);
  expect(Math.abs((await toldSeconds(page)) - moved + 14 / pxPerSecond)).toBeLessThan(2 / rateHz);
  const laid = await toldSeconds(page);

  const middle = beside(on(4), 0, 20);
  await slide(cdp, [beside(middle, -40), beside(middle, 40)], [beside(middle, -60), beside(middle, 60)]);
  await expect(page.getByTestId('said')).toHaveText('37.5 mm/s');
  await slide(cdp, [beside(middle, -40), beside(middle, 40)], [beside(middle, -52), beside(middle, 52)]);
  // Nearly a usual speed is that speed.
  await expect(page.getByTestId('said')).toHaveText('50 mm/s');
  // What lay between the fingers lies there still: 4 s after the start of the recording.
  await page.touchscreen.tap(middle.x, middle.y);
  await expect.poll(async () => Math.abs((await toldSeconds(page)) - 4)).toBeLessThan(0.5);
  // Two fingers moved nothing, and of all marks only one is elsewhere.
  const [marks] = await exported(page, 'Reviewed marks');
  const expected = plant.detected.map((m, i) => (i === 3 ? Math.round(laid * rateHz) : m));
  expect(column(marks!.bytes, 'sample').map(Number)).toEqual([...expected]);
});
