import { spawnSync } from 'node:child_process';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Where a program is, in the folders of the system's servers as well; null where it is absent. */
export function pathOf(program: string): string | null {
  const path = `${process.env['PATH']}:/usr/sbin:/sbin`;
  const found = spawnSync('sh', ['-c', `command -v ${program}`], {
    encoding: 'utf8',
    env: { ...process.env, PATH: path },
  });
  return found.status === 0 ? found.stdout.trim() : null;
}

export function isInstalled(program: string): boolean {
  return pathOf(program) !== null;
}

/** Installs Debian's packages where that is possible: as root, with apt-get. Whoever needs them looks afterwards. */
export function aptInstall(packages: readonly string[]): void {
  if (process.getuid?.() !== 0 || !isInstalled('apt-get')) return;
  console.log(`Installing ${packages.join(', ')} with apt-get.`);
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  // One at a time: of two that fetch the lists at once one would fail. A mirror may not answer at once.
  const lock = join(tmpdir(), 'apt-get.lock');
  const apt = (...args: string[]) =>
    spawnSync('flock', [lock, 'apt-get', '-o', 'Acquire::Retries=5', ...args], {
      stdio: ['ignore', 'ignore', 'inherit'],
      env,
    }).status === 0;
  if (apt('update')) apt('install', '-y', '--no-install-recommends', ...packages);
}
