// Runs the browser tests: finds a browser, or installs one where that is possible, and says what to do where it is not.
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { createServer } from 'node:net';
import { join } from 'node:path';
import { chromium } from '@playwright/test';

const root = join(import.meta.dirname, '../..');

function onPath(name) {
  const found = spawnSync('sh', ['-c', `command -v ${name}`], { encoding: 'utf8' });
  return found.status === 0 ? found.stdout.trim() : null;
}

function findBrowser() {
  const named = process.env.CHROMIUM_PATH;
  if (named) return existsSync(named) ? named : null;
  const own = chromium.executablePath();
  return onPath('chromium') ?? onPath('google-chrome') ?? (existsSync(own) ? own : null);
}

function installBrowser() {
  if (process.getuid?.() !== 0 || !onPath('apt-get')) return;
  console.log('No browser found: installing chromium with apt-get.');
  const apt = (...args) => spawnSync('apt-get', args, { stdio: ['ignore', 'ignore', 'inherit'] }).status === 0;
  const env = process.env;
  env.DEBIAN_FRONTEND = 'noninteractive';
  if (apt('update')) apt('install', '-y', '--no-install-recommends', 'chromium');
}

function freePort() {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, () => {
      const { port } = server.address();
      server.close(() => resolve(String(port)));
    });
  });
}

let browser = findBrowser();
if (!browser && !process.env.CHROMIUM_PATH) {
  installBrowser();
  browser = findBrowser();
}
if (!browser) {
  console.error(
    process.env.CHROMIUM_PATH
      ? `CHROMIUM_PATH names no file: ${process.env.CHROMIUM_PATH}`
      : 'The browser tests need Chromium: run "apt-get install chromium" as root, or set CHROMIUM_PATH to a Chromium or Chrome.',
  );
  process.exit(1);
}

const config = join(import.meta.dirname, 'playwright.config.ts');
const env = { ...process.env, CHROMIUM_PATH: browser, BUILT_PORT: await freePort(), MODULES_PORT: await freePort() };
const args = ['playwright', 'test', '--config', config, ...process.argv.slice(2)];
const run = spawnSync('npx', args, { cwd: root, stdio: 'inherit', env });
process.exit(run.status ?? 1);
