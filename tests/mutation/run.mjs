import { spawnSync } from 'node:child_process';
import { folders } from './folders.mjs';

/** One run a folder: all of them, or those named, e.g. `npm run mutation -- score marks`. Hours, not minutes, for all. */
const asked = process.argv.slice(2);
const unknown = asked.filter(name => !(name in folders));
if (unknown.length > 0) {
  console.error(`no such folder: ${unknown.join(', ')}; there are ${Object.keys(folders).join(', ')}`);
  process.exit(2);
}
for (const folder of asked.length > 0 ? asked : Object.keys(folders)) {
  const env = { ...process.env, MUTATE: folder };
  const { status } = spawnSync('npx', ['stryker', 'run', 'tests/mutation/stryker.config.mjs'], {
    env,
    stdio: 'inherit',
  });
  if (status !== 0) process.exitCode = 1;
}
