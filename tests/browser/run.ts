// Runs the browser tests: finds a browser, or installs one where that is possible, and says what to do where it is not.
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { chromium } from '@playwright/test';
import { aptInstall, pathOf } from '../apt';
import { freePort } from '../bench/browser';

const root = join(import.meta.dirname, '../..');
const named = process.env['CHROMIUM_PATH'];

/** The one without a window is faster; it takes no settings of a person's profile. */
function findBrowser(): { quick: string; full: string } | null {
  if (named) return existsSync(named) ? { quick: named, full: named } : null;
  const own = chromium.executablePath();
  const full = pathOf('chromium') ?? pathOf('google-chrome') ?? (existsSync(own) ? own : null);
  return full ? { quick: pathOf('chromium-headless-shell') ?? full, full } : null;
}

if (!named && !findBrowser()) aptInstall(['chromium', 'chromium-headless-shell']);
const browser = findBrowser();
if (!browser) {
  console.error(
    named
      ? `CHROMIUM_PATH names no file: ${named}`
      : 'The browser tests need Chromium: run "apt-get install chromium" as root, or set CHROMIUM_PATH to a Chromium or Chrome.',
  );
  process.exit(1);
}

const config = join(import.meta.dirname, 'playwright.config.ts');
const [builtPort, modulesPort] = [await freePort(), await freePort()];
const env = {
  ...process.env,
  CHROMIUM_PATH: browser.quick,
  FULL_CHROMIUM_PATH: browser.full,
  BUILT_PORT: String(builtPort),
  MODULES_PORT: String(modulesPort),
};
const args = ['playwright', 'test', '--config', config, ...process.argv.slice(2)];
const run = spawnSync('npx', args, { cwd: root, stdio: 'inherit', env });
process.exit(run.status ?? 1);
