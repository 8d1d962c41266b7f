import puppeteer, { type KeyInput } from 'puppeteer-core';
import type { Driver } from './driver';

/** A browser that has just been installed starts slowly, and other tests run beside this. */
const patienceMs = 120_000;

/** Chromium over its own protocol, Firefox over WebDriver BiDi. */
export async function openWithPuppeteer(engine: 'chrome' | 'firefox', executablePath: string): Promise<Driver> {
  const browser = await puppeteer.launch({
    browser: engine,
    executablePath,
    headless: true,
    timeout: patienceMs,
    ...(engine === 'chrome' ? { args: ['--no-sandbox', '--disable-gpu'] } : {}),
  });
  const page = await browser.newPage();
  page.setDefaultNavigationTimeout(patienceMs);
  await page.setViewport({ width: 1440, height: 900 });
  return {
    name: `${engine === 'chrome' ? 'Chromium' : 'Firefox'} ${(await browser.version()).replace(/^\D*/, '')}`,
    // Another place behind the # is no navigation, and BiDi would wait for one.
    goto: async url => {
      const here = page.url();
      if (here.split('#')[0] === url.split('#')[0]) await page.evaluate(to => location.assign(to), url);
      else await page.goto(url);
    },
    reload: async () => void (await page.reload()),
    press: key => page.keyboard.press(key as KeyInput),
    evaluate: expression => page.evaluate(expression) as never,
    print: () => page.pdf({ format: 'A4', timeout: 120_000 }),
    close: () => browser.close(),
  };
}
