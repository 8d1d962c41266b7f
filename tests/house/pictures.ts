// Takes the pictures of README.md from the built page (npm run build first), so that they are never older than the page.
import { join } from 'node:path';
import { chromium } from '@playwright/test';
import { preview } from 'vite';

const root = join(import.meta.dirname, '../..');
const server = await preview({ root, preview: { port: 4290, strictPort: false } });
const address = server.resolvedUrls?.local[0];
if (!address) throw new Error('the built page is not served: run npm run build first');
const browser = await chromium.launch({
  executablePath: process.env['CHROMIUM_PATH'] ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--no-first-run'],
});
try {
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 }, colorScheme: 'light' });
  await page.goto(address);
  await page.getByRole('button', { name: 'V02, training day' }).click();
  await page.getByTestId('own-code').fill('R1');
  await page.getByRole('button', { name: 'Continue' }).click();
  await page.getByTestId('queue').getByRole('listitem').first().waitFor();
  const guided = page.getByRole('button', { name: 'I know my way' });
  if (await guided.isVisible()) await guided.click();
  for (const key of ['g', ...'12:12', 'Enter', 'ArrowRight', 'ArrowRight']) await page.keyboard.press(key);
  await page.waitForLoadState('networkidle');
  await page.screenshot({ path: join(root, 'public/review.png') });
} finally {
  await browser.close();
  await server.close();
}
