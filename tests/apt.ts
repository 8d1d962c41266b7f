import { spawnSync } from 'node:child_process';

/** Whether a program is there, in the folders of the system's servers as well. */
export function isInstalled(program: string): boolean {
  const path = `${process.env['PATH']}:/usr/sbin:/sbin`;
  return spawnSync('sh', ['-c', `command -v ${program}`], { env: { ...process.env, PATH: path } }).status === 0;
}

/** Installs Debian's packages where that is possible: as root, with apt-get. Whoever needs them looks afterwards. */
export function aptInstall(packages: readonly string[]): void {
  if (process.getuid?.() !== 0 || !isInstalled('apt-get')) return;
  console.log(`Installing ${packages.join(', ')} with apt-get.`);
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  const apt = (...args: string[]) =>
    spawnSync('apt-get', args, { stdio: ['ignore', 'ignore', 'inherit'], env }).status === 0;
  if (apt('update')) apt('install', '-y', '--no-install-recommends', ...packages);
}
