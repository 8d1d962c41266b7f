import { spawnSync } from 'node:child_process';
import { apachePackages } from '../../src/cli/lab-store/apache';
import { nginxPackages } from '../../src/cli/lab-store/nginx';

function isInstalled(program: string): boolean {
  const path = `${process.env['PATH']}:/usr/sbin:/sbin`;
  return spawnSync('sh', ['-c', `command -v ${program}`], { env: { ...process.env, PATH: path } }).status === 0;
}

function install(packages: readonly string[]): void {
  if (process.getuid?.() !== 0 || !isInstalled('apt-get')) return;
  console.log(`Installing ${packages.join(', ')} with apt-get.`);
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  const apt = (...args: string[]) =>
    spawnSync('apt-get', args, { stdio: ['ignore', 'ignore', 'inherit'], env }).status === 0;
  if (apt('update')) apt('install', '-y', '--no-install-recommends', ...packages);
}

/** Servers of the tests, from Debian's packages; says what to install where it may not. */
export default function installServers(): void {
  process.env['PATH'] = `${process.env['PATH']}:/usr/sbin:/sbin`;
  const needed = { apache2: apachePackages, htpasswd: apachePackages, nginx: nginxPackages };
  const absent = () => Object.entries(needed).filter(([program]) => !isInstalled(program));
  if (absent().length > 0) install([...new Set(absent().flatMap(([, packages]) => packages))]);
  const missing = [...new Set(absent().flatMap(([, packages]) => packages))];
  if (missing.length > 0) {
    throw new Error(
      `The tests of a lab's store need ${missing.join(', ')}: run "apt-get install ${missing.join(' ')}" as root.`,
    );
  }
}
