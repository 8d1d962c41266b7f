import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { UsageError } from '../command';
import {
  configurationFolder,
  dataFolder,
  lastLines,
  makeFolders,
  rolesFile,
  runningProcess,
  type ServerEngine,
  type StorePlaces,
} from './places';
import { giveTo, waitForPort } from './system';

export const nginxPackages = ['nginx-light'] as const;
const nginxAccount = 'www-data';

const pidFile = (root: string) => join(root, 'run/nginx.pid');

export const nginx: ServerEngine = { name: 'nginx', pidFile, start, reload };

async function start(places: StorePlaces): Promise<void> {
  const { root, port } = places;
  if (!existsSync(rolesFile(root))) {
    throw new UsageError('nobody has an account yet: add one with --person CODE --role supervisor');
  }
  makeFolders(root);
  const pid = runningProcess(pidFile(root));
  if (pid !== null) throw new UsageError(`a server runs there already (process ${pid}); stop it first`);
  if (process.getuid?.() === 0) giveTo(nginxAccount, places);
  writeFileSync(configurationFile(root), configurationFor(places));
  // A server that was killed leaves its sockets behind, and a new one does not take them over.
  for (const name of ['line.sock', 'back.sock']) rmSync(join(root, 'run', name), { force: true });
  runNginx(root);
  await waitForPort(port, () => lastLines(join(root, 'run/error.log')));
}

const configurationFile = (root: string) => join(root, 'etc/nginx.conf');

/** The shipped configuration with the places put in. */
function configurationFor({ root, dist, port }: StorePlaces): string {
  const places: Record<string, string> = {
    ROOT: root,
    DIST: dist,
    DATA: dataFolder(root),
    PORT: String(port),
    USER: nginxAccount,
  };
  const shipped = readFileSync(join(configurationFolder, 'nginx.conf'), 'utf8');
  return shipped.replace(/\$\{([A-Z]+)\}/g, (whole, name: string) => places[name] ?? whole);
}

function reload({ root }: StorePlaces): void {
  runNginx(root, '-s', 'reload');
}

function runNginx(root: string, ...more: readonly string[]): void {
  const log = join(root, 'run/error.log');
  const run = spawnSync('nginx', ['-c', configurationFile(root), '-e', log, ...more], { encoding: 'utf8' });
  if (run.error) {
    throw new UsageError(
      `nginx is not installed: run "apt-get install -y --no-install-recommends ${nginxPackages.join(' ')} apache2-utils" as root`,
    );
  }
  if (run.status !== 0) throw new Error(`nginx: ${run.stderr.trim()}`);
}
