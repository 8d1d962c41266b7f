import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Browser, type BrowserContext, type BrowserContextOptions, chromium, type Page } from '@playwright/test';
import settings, { shortLived } from '../browser/playwright.config';
import { type Call, openSteps } from '../browser/step';
import { endServer, startServer } from '../servers';

const root = join(import.meta.dirname, '../..');

export interface BenchPage<M> {
  readonly page: Page;
  readonly browser: Browser;
  readonly call: Call<M>;
}

/**
 * Runs `work` in a browser that keeps what it stores on disk, in a profile of its own, as a person's does: a private window
 * (Playwright's usual context) hands every write to another process, which keeps it in memory, and takes ten to twenty
 * times as long.
 */
export async function withProfile<T>(
  options: Pick<BrowserContextOptions, 'baseURL' | 'viewport'>,
  work: (context: BrowserContext) => Promise<T>,
): Promise<T> {
  const profile = mkdtempSync(join(tmpdir(), 'bench-profile-'));
  const { args = [], ...launch } = settings.use?.launchOptions ?? {};
  const own = { ...launch, args: args.filter(arg => arg !== shortLived) };
  const context = await chromium.launchPersistentContext(profile, { ...own, ...options });
  try {
    return await work(context);
  } finally {
    await context.close();
    rmSync(profile, { recursive: true, force: true });
  }
}

/** Opens a browser and the modules server, runs `work` on a fresh page, and ends both. */
export async function withPage<M, T>(module: string, work: (bench: BenchPage<M>) => Promise<T>): Promise<T> {
  const port = await freePort();
  const server = startServer(process.execPath, ['tests/browser/serve-modules.mjs', String(port)], { cwd: root });
  const baseURL = `http://localhost:${port}`;
  try {
    return await withProfile({ baseURL }, async context => {
      await answering(`${baseURL}/package.json`);
      const page = await context.newPage();
      return work({ page, browser: context.browser()!, call: await openSteps<M>(page, module) });
    });
  } finally {
    endServer(server);
  }
}

/** Gives the page a file from disk as `window.chosen`, as a person's choice would. */
export async function chooseFile(page: Page, path: string): Promise<void> {
  await page.evaluate("document.body.innerHTML = '<input type=file id=chosen>'");
  await page.locator('#chosen').setInputFiles(path);
}

/** Highest resident memory in MB of the largest renderer so far, workers included; null where /proc is missing. */
export async function peakPageMb(browser: Browser): Promise<number | null> {
  const session = await browser.newBrowserCDPSession();
  const { processInfo } = await session.send('SystemInfo.getProcessInfo');
  await session.detach();
  try {
    const peaks = processInfo.filter(p => p.type === 'renderer').map(p => peakMb(p.id));
    return Math.max(...peaks);
  } catch {
    return null;
  }
}

function peakMb(pid: number): number {
  const kb = /VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1];
  return Number(kb) / 1024;
}

export async function answering(url: string): Promise<void> {
  for (let tries = 0; tries < 300; tries++) {
    if (
      await fetch(url).then(
        r => r.ok,
        () => false,
      )
    )
      return;
    await new Promise(resolve => setTimeout(resolve, 100));
  }
  throw new Error(`the modules server does not answer: ${url}`);
}

export function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, () => {
      const address = server.address();
      server.close(() => resolve(typeof address === 'object' && address ? address.port : 0));
    });
  });
}
