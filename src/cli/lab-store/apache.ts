import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { UsageError } from '../command';
import {
  configurationFolder,
  dataFolder,
  groupsFile,
  lastLines,
  makeFolders,
  peopleFile,
  runningProcess,
  type ServerEngine,
  type StorePlaces,
} from './places';
import { giveTo, waitForPort } from './system';

export const apachePackages = ['apache2', 'apache2-utils'] as const;
const apacheAccount = 'www-data';

const errorLog = (root: string) => join(root, 'run/error.log');
const pidFile = (root: string) => join(root, 'run/httpd.pid');

export const apache: ServerEngine = {
  name: 'apache',
  pidFile,
  start,
  reload: places => runApache(places, 'graceful'),
};

async function start(places: StorePlaces): Promise<void> {
  const { root, port } = places;
  if (!existsSync(peopleFile(root)) || !existsSync(groupsFile(root))) {
    throw new UsageError(`nobody has an account yet: add one with --person CODE --role supervisor`);
  }
  makeFolders(root);
  const pid = runningProcess(pidFile(root));
  if (pid !== null) throw new UsageError(`a server runs there already (process ${pid}); stop it first`);
  if (process.getuid?.() === 0) giveTo(apacheAccount, places);
  runApache(places, 'start');
  await waitForPort(port, () => lastLines(errorLog(root)));
}

function runApache({ root, dist, port }: StorePlaces, action: 'start' | 'graceful'): void {
  const defines = {
    ROOT: root,
    DIST: dist,
    DATA: dataFolder(root),
    PORT: port,
    LINE: port + 1,
    BACK: port + 2,
    ...(process.getuid?.() === 0 ? { USER: apacheAccount } : {}),
  };
  const given = Object.entries(defines).flatMap(([name, value]) => ['-C', `Define ${name} ${value}`]);
  const args = ['-f', join(configurationFolder, 'httpd.conf'), ...given, '-k', action];
  const run = spawnSync('apache2', args, { encoding: 'utf8' });
  if (run.error) {
    throw new UsageError(
      `Apache is not installed: run "apt-get install -y --no-install-recommends ${apachePackages.join(' ')}" as root`,
    );
  }
  if (run.status !== 0) throw new Error(`apache2 -k ${action}: ${run.stderr.trim() || lastLines(errorLog(root))}`);
}
