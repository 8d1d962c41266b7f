// npm run engines: opens, corrects, reloads, exports and prints in Chromium, Firefox ESR and WebKitGTK, one after the
// other, on the built page. Engines that are absent are installed with apt-get where that is possible. `npm test` walks
// Firefox and WebKitGTK: all other browser tests run in Chromium.
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { aptInstall } from '../apt';
import { answering, freePort } from '../bench/browser';
import { endServer, startServer } from '../servers';
import type { Driver } from './driver';
import { openWithPuppeteer } from './puppeteer';
import { walk } from './walk';
import { openWebKit } from './webkit';

const root = join(import.meta.dirname, '../..');
const engines: Readonly<Record<string, { packages: string[]; path: string; open: (path: string) => Promise<Driver> }>> =
  {
    chromium: { packages: ['chromium'], path: '/usr/bin/chromium', open: path => openWithPuppeteer('chrome', path) },
    firefox: {
      packages: ['firefox-esr'],
      path: '/usr/bin/firefox-esr',
      open: path => openWithPuppeteer('firefox', path),
    },
    webkit: { packages: ['webkit2gtk-driver', 'xvfb'], path: '/usr/bin/WebKitWebDriver', open: openWebKit },
  };

const wanted = process.argv.slice(2);
const unknown = wanted.filter(name => !(name in engines));
if (unknown.length > 0) throw new Error(`no such engine: ${unknown.join(', ')}; there are ${Object.keys(engines)}`);

install(
  Object.entries(engines).flatMap(([name, { packages, path }]) => (chosen(name) && !existsSync(path) ? packages : [])),
);
if (!existsSync(join(root, 'dist/index.html'))) spawnSync('npx', ['vite', 'build'], { cwd: root, stdio: 'inherit' });
const port = await freePort();
const server = startServer('npx', ['vite', 'preview', '--port', String(port), '--strictPort'], { cwd: root });
let failed = 0;
let passed = 0;
try {
  const base = `http://localhost:${port}/`;
  await answering(base);
  for (const [name, { path, open }] of Object.entries(engines)) {
    if (!chosen(name)) continue;
    // A browser can fail to start on a busy machine: the second failure counts.
    const done = (await walked(name, () => open(path), base)) || (await walked(name, () => open(path), base));
    if (done) passed++;
    else failed++;
  }
} finally {
  endServer(server);
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed > 0 ? 1 : 0);

async function walked(name: string, open: () => Promise<Driver>, base: string): Promise<boolean> {
  const steps: string[] = [];
  let driver: Driver | undefined;
  try {
    driver = await open();
    await walk(driver, base, step => steps.push(step));
    console.log(`${driver.name}: ${steps.join(', ')}`);
    return true;
  } catch (error) {
    console.error(`${driver?.name ?? name}: ${steps.join(', ') || 'nothing'}, then: ${(error as Error).message}`);
    return false;
  } finally {
    await driver?.close();
  }
}

function chosen(name: string): boolean {
  return wanted.length === 0 || wanted.includes(name);
}

function install(packages: readonly string[]): void {
  if (packages.length > 0) aptInstall(packages);
  const absent = Object.entries(engines).filter(([name, { path }]) => chosen(name) && !existsSync(path));
  if (absent.length === 0) return;
  const missing = absent.flatMap(([, engine]) => engine.packages).join(' ');
  throw new Error(`Not here: run "apt-get install ${missing}" as root, or name the engines to walk.`);
}
